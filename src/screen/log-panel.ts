/** The tail of the log, newest last. */
import type { LogLine, RunSnapshot } from "../journal/snapshot.ts";
import { clockText } from "./duration-text.ts";
import type { PanelOptions } from "./panel.ts";
import { cleanText, cutLine, span, type TextLine, type Tone } from "./text-line.ts";

const WEIGHT_TONES: Readonly<Record<LogLine["weight"], Tone>> = {
  info: "plain",
  good: "good",
  bad: "bad",
  warning: "warning",
};

export function logPanel(
  snapshot: RunSnapshot,
  options: PanelOptions & { readonly rows: number },
): TextLine[] {
  if (options.rows < 1 || snapshot.log.length === 0) return [];
  const { glyphs, columns, ascii } = options;
  const shown = options.rows > 1 ? snapshot.log.slice(-(options.rows - 1)) : [];
  const title: TextLine = [span("Log", "faint")];
  const rows = shown.map((one): TextLine => {
    const sign = { info: " ", good: glyphs.good, bad: glyphs.bad, warning: "!" }[one.weight];
    const tone = WEIGHT_TONES[one.weight];
    return [
      span(`${clockText(one.ms).padStart(5)} `, "faint"),
      span(`${sign} ${cleanText(one.text, ascii)}`, tone),
    ];
  });
  return [title, ...rows].map((line) => cutLine(line, columns, glyphs.cut));
}
