/** Panels and the bands they stand in, and what a panel is told about the room it has. */
import type { Glyphs } from "./glyphs.ts";
import { BLANK_LINE, type TextLine } from "./text-line.ts";

export interface ScreenSize {
  readonly columns: number;
  readonly rows: number;
}

export type PanelName =
  | "heading"
  | "state"
  | "progress"
  | "rails"
  | "levels"
  | "steps"
  | "log"
  | "wrong"
  | "help"
  | "word"
  | "notice"
  | "keys"
  | "blank";

export interface Panel {
  readonly name: PanelName;
  readonly columns: number;
  readonly lines: readonly TextLine[];
}

/** Panels side by side; the screen is a stack of bands. */
export interface Band {
  readonly panels: readonly Panel[];
}

/** Columns between panels that stand side by side. */
export const PANEL_GAP_COLUMNS = 2;

export interface PanelOptions {
  readonly columns: number;
  readonly glyphs: Glyphs;
  readonly ascii: boolean;
}

/**
 * First row of a window of `shown` rows out of `total` that keeps `current` inside, with one row
 * of what is past above it where there is room.
 */
export function windowStart({
  total,
  shown,
  current,
}: {
  total: number;
  shown: number;
  current: number;
}): number {
  const past = shown >= 3 ? Math.floor(shown / 3) : 0;
  return Math.max(0, Math.min(current - past, total - shown));
}

export function bandHeight(one: Band): number {
  return Math.max(0, ...one.panels.map((panel) => panel.lines.length));
}

export function bandsHeight(bands: readonly Band[]): number {
  return bands.reduce((sum, one) => sum + bandHeight(one), 0);
}

export function band(...panels: readonly Panel[]): Band {
  return { panels };
}

/** Empty rows. */
export function blankBand(rows: number, columns: number): Band[] {
  if (rows <= 0) return [];
  return [band({ name: "blank", columns, lines: Array.from({ length: rows }, () => BLANK_LINE) })];
}
