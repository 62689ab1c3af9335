/** The tail of the log, newest last. */
import type { LogLine, RunSnapshot } from "../journal/snapshot.ts";
import type { Glyphs } from "./glyphs.ts";
import type { PanelOptions } from "./panel.ts";
import { cleanText, cutLine, span, type TextLine, type Tone } from "./text-line.ts";
import type { ViewState } from "./view-state.ts";
import { logClock } from "./wall-text.ts";

export const WEIGHT_TONES: Readonly<Record<LogLine["weight"], Tone>> = {
  info: "plain",
  good: "good",
  bad: "bad",
  warning: "warning",
};

/** @param back lines that are newer than those shown; @param more what else a key does here */
export function logTitle(back: number, more: string | null): TextLine {
  const rest = more === null ? "" : `; ${more}`;
  return back === 0
    ? [span(`Log${rest}`, "faint")]
    : [span(`Log, ${back} newer below: e goes there${rest}`, "warning")];
}

export function logSign(weight: LogLine["weight"], glyphs: Glyphs): string {
  return { info: " ", good: glyphs.good, bad: glyphs.bad, warning: "!" }[weight];
}

export function logPanel(
  snapshot: RunSnapshot,
  options: PanelOptions & { readonly rows: number; readonly view: ViewState },
): TextLine[] {
  if (options.rows < 1 || snapshot.log.length === 0) return [];
  const { glyphs, columns, ascii, view } = options;
  const room = options.rows - 1;
  // Scrolled back as far as it goes, the oldest lines still fill the panel.
  const back = Math.min(view.logBack, Math.max(0, snapshot.log.length - room));
  const end = snapshot.log.length - back;
  const shown = room > 0 ? snapshot.log.slice(Math.max(0, end - room), end) : [];
  const title = logTitle(back, null);
  const rows = shown.map((one): TextLine => {
    const sign = logSign(one.weight, glyphs);
    const tone = WEIGHT_TONES[one.weight];
    return [
      span(`${logClock(one.ms, snapshot).padStart(5)} `, "faint"),
      span(`${sign} ${cleanText(one.text, ascii)}`, tone),
    ];
  });
  return [title, ...rows].map((line) => cutLine(line, columns, glyphs.cut));
}
