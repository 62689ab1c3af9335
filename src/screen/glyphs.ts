/** Signs of the screen in two sets: one for terminals with UTF-8, one of plain ASCII. */

export interface Glyphs {
  readonly good: string;
  readonly bad: string;
  readonly unsure: string;
  readonly running: string;
  readonly waiting: string;
  readonly skipped: string;
  /** The other step of a loop. */
  readonly loop: string;
  readonly cut: string;
  readonly plusMinus: string;
  readonly done: string;
  readonly toDo: string;
  readonly rule: string;
  /** Level bar: the band the level must lie in, the other good band, short margin, between. */
  readonly wanted: string;
  readonly band: string;
  readonly short: string;
  readonly between: string;
  readonly limit: string;
  readonly reading: string;
  readonly below: string;
  readonly above: string;
}

const UNICODE_GLYPHS: Glyphs = {
  good: "✓",
  bad: "✗",
  unsure: "?",
  running: "▶",
  waiting: "·",
  skipped: "-",
  loop: "↔",
  cut: "…",
  plusMinus: "±",
  done: "█",
  toDo: "░",
  rule: "─",
  wanted: "━",
  band: "─",
  short: "╌",
  between: "·",
  limit: "│",
  reading: "◆",
  below: "◀",
  above: "▶",
};

export const ASCII_GLYPHS: Glyphs = {
  good: "+",
  bad: "X",
  unsure: "?",
  running: ">",
  waiting: ".",
  skipped: "-",
  loop: "=",
  cut: "~",
  plusMinus: "+-",
  done: "#",
  toDo: ".",
  rule: "-",
  wanted: "=",
  band: "-",
  short: "~",
  between: ".",
  limit: "|",
  reading: "O",
  below: "<",
  above: ">",
};

export function glyphsFor(ascii: boolean): Glyphs {
  return ascii ? ASCII_GLYPHS : UNICODE_GLYPHS;
}

/**
 * Whether the locale asks for UTF-8, by the order of precedence POSIX gives the variables
 * (IEEE Std 1003.1-2017, Base Definitions, 8.2): LC_ALL, then LC_CTYPE, then LANG.
 */
export function localeIsUtf8(environment: Readonly<Record<string, string | undefined>>): boolean {
  const locale = environment["LC_ALL"] || environment["LC_CTYPE"] || environment["LANG"] || "";
  return /utf-?8/i.test(locale);
}
