/** One line of the screen as spans of text with a tone, and the arithmetic of its width. */
import { stripVTControlCharacters } from "node:util";
import stringWidth from "string-width";

/** How a span is meant; a tone only adds to what the words already say. */
export type Tone = "plain" | "strong" | "good" | "bad" | "warning" | "faint";

export interface Span {
  readonly text: string;
  readonly tone: Tone;
}

export type TextLine = readonly Span[];

export const BLANK_LINE: TextLine = [];

export function span(text: string, tone: Tone = "plain"): Span {
  return { text, tone };
}

/**
 * Signs of one column each that join with nothing: ASCII, Latin letters, arrows, lines, blocks and
 * shapes up to the first wide one, the two marks. Nearly every text here is made of them, and asking
 * for their widths one by one took a third of the time of a drawing.
 */
const ONE_COLUMN_EACH =
  /^[ -~\u00a1-\u00ac\u00ae-\u00ff\u2026\u2190-\u2193\u2500-\u25fc\u2713\u2717]*$/;

/** Columns a text takes on a terminal. */
export function widthOf(text: string): number {
  return ONE_COLUMN_EACH.test(text) ? text.length : stringWidth(text);
}

export function isSameLine(one: TextLine, other: TextLine): boolean {
  return (
    one.length === other.length &&
    one.every((part, index) => {
      const there = other[index];
      return part.text === there?.text && part.tone === there.tone;
    })
  );
}

export function lineText(line: TextLine): string {
  return line.map((part) => part.text).join("");
}

/**
 * Text from a file or a controller, made safe to draw: escape sequences, control characters and
 * direction overrides would move the cursor or reorder the screen. With `ascii` the letters are
 * reduced to plain ones, and what has no plain form becomes a question mark.
 */
export function cleanText(text: string, ascii: boolean): string {
  const oneLine = stripVTControlCharacters(text)
    .replace(/[\p{Cc}\p{Zl}\p{Zp}]+/gu, " ")
    .replace(/\p{Cf}/gu, "");
  if (!ascii) return oneLine;
  const plain = oneLine
    .normalize("NFKD")
    .replace(/\p{M}/gu, "")
    .replace(/[\u2010-\u2015\u2212]/gu, "-")
    .replace(/[\u2018\u2019]/gu, "'");
  return plain.replace(/[^\x20-\x7e]/gu, "?");
}

/** The text cut to `columns`; what was cut is shown by `cut`. */
function cutText(text: string, columns: number, cut: string): string {
  if (columns <= 0) return "";
  if (widthOf(text) <= columns) return text;
  let kept = "";
  let used = 0;
  for (const character of text) {
    const next = widthOf(character);
    if (used + next > columns - widthOf(cut)) break;
    kept += character;
    used += next;
  }
  return kept + cut;
}

/** The text cut or filled with spaces to exactly `columns`. */
export function padText(text: string, columns: number, cut: string): string {
  const fitted = cutText(text, columns, cut);
  return fitted + " ".repeat(Math.max(0, columns - widthOf(fitted)));
}

/** The same, filled from the left, for figures. */
export function padStartText(text: string, columns: number, cut: string): string {
  const fitted = cutText(text, columns, cut);
  return " ".repeat(Math.max(0, columns - widthOf(fitted))) + fitted;
}

/** A line cut to `columns` without losing the tones of what stays. */
export function cutLine(line: TextLine, columns: number, cut: string): TextLine {
  if (widthOf(lineText(line)) <= columns) return line;
  const kept: Span[] = [];
  let left = columns;
  for (const part of line) {
    const width = widthOf(part.text);
    if (width < left) {
      kept.push(part);
      left -= width;
      continue;
    }
    kept.push({ text: cutText(`${part.text}${cut}${cut}`, left, cut), tone: part.tone });
    break;
  }
  return kept;
}

export interface WrapOptions {
  readonly columns: number;
  readonly rowCountMax: number;
  readonly cut: string;
}

/** Words wrapped to `columns`, at most `rowCountMax` rows; the last row is cut when words are left. */
export function wrapText(text: string, { columns, rowCountMax, cut }: WrapOptions): string[] {
  const rows = wrapWords(text, columns);
  if (rows.length > rowCountMax) {
    const last = rows.slice(rowCountMax - 1).join(" ");
    rows.splice(rowCountMax - 1, rows.length, last);
  }
  return rows.map((one) => cutText(one, columns, cut));
}

/** Words wrapped to `columns`; a longer word, such as a path, stays whole on a row of its own. */
export function wrapWords(text: string, columns: number): string[] {
  const rows: string[] = [];
  let row = "";
  for (const word of text.split(" ").filter((one) => one !== "")) {
    const longer = row === "" ? word : `${row} ${word}`;
    if (row !== "" && widthOf(longer) > columns) {
      rows.push(row);
      row = word;
    } else {
      row = longer;
    }
  }
  return row === "" ? rows : [...rows, row];
}
