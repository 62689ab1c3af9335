/** Hand mode's own panel, where the steps stand in a proof: the lines, and which one is chosen. */
import type { RunSnapshot } from "../journal/snapshot.ts";
import type { PanelOptions } from "./panel.ts";
import { cleanText, cutLine, padText, span, type TextLine } from "./text-line.ts";
import { lineLevel, type ViewState } from "./view-state.ts";

const NAME_COLUMNS = 12;

export function linesPanel(
  snapshot: RunSnapshot,
  view: ViewState,
  options: PanelOptions & { readonly rows: number },
): TextLine[] {
  const { glyphs, ascii, columns } = options;
  const lines = snapshot.plan?.lines ?? [];
  if (options.rows < 1) return [];
  const title: TextLine = [
    span(snapshot.hand === null ? "Lines" : "Lines: a digit moves one", "faint"),
  ];
  const rows = lines.map(({ line, drive }, position): TextLine => {
    const isChosen = position === view.line;
    const level = lineLevel(line, snapshot);
    const word = drive === "load" ? (level === "high" ? "connected" : "off") : level;
    return [
      span(isChosen ? `${glyphs.running} ` : "  ", "strong"),
      span(`${position + 1} `, "faint"),
      span(
        padText(cleanText(line, ascii), NAME_COLUMNS, glyphs.cut),
        isChosen ? "strong" : "plain",
      ),
      span(` ${word}`, level === "high" ? "strong" : "plain"),
    ];
  });
  return [title, ...rows].slice(0, options.rows).map((line) => cutLine(line, columns, glyphs.cut));
}
