/** The log over the whole width, its lines wrapped: beside the steps a long one is cut. */
import type { LogLine, RunSnapshot } from "../journal/snapshot.ts";
import { logSign, logTitle, WEIGHT_TONES } from "./log-panel.ts";
import type { PanelOptions } from "./panel.ts";
import { cleanText, cutLine, span, type TextLine, wrapWords } from "./text-line.ts";
import type { ViewState } from "./view-state.ts";
import { logClock } from "./wall-text.ts";

/** Time and sign before the words. */
const INDENT_COLUMNS = 8;

export function logPage(
  snapshot: RunSnapshot,
  options: PanelOptions & { readonly rows: number; readonly view: ViewState },
): TextLine[] {
  const { log } = snapshot;
  const { rows, columns, glyphs, view } = options;
  const wrap = (line: LogLine) => wrapped(line, logClock(line.ms, snapshot), options);
  if (rows < 2) return [];
  let end = Math.max(1, log.length - view.logBack);
  let shown: TextLine[] = [];
  const fits = (more: readonly TextLine[]) => shown.length + more.length <= rows - 1;
  for (const line of log.slice(0, end).reverse()) {
    const more = wrap(line);
    if (!fits(more)) break;
    shown = [...more, ...shown];
  }
  // Scrolled back as far as it goes, the lines after the oldest still fill the page.
  for (const line of log.slice(end)) {
    const more = wrap(line);
    if (!fits(more)) break;
    shown = [...shown, ...more];
    end += 1;
  }
  const title = logTitle(log.length - end, "w goes back to the run");
  return [title, ...shown].map((line) => cutLine(line, columns, glyphs.cut));
}

function wrapped(one: LogLine, at: string, { columns, glyphs, ascii }: PanelOptions): TextLine[] {
  const words = wrapWords(cleanText(one.text, ascii), Math.max(1, columns - INDENT_COLUMNS));
  const tone = WEIGHT_TONES[one.weight];
  return words.map((row, index) =>
    index === 0
      ? [span(`${at.padStart(5)} `, "faint"), span(`${logSign(one.weight, glyphs)} ${row}`, tone)]
      : [span(" ".repeat(INDENT_COLUMNS) + row, tone)],
  );
}
