/**
 * One channel's volts drawn against the level contract.
 *
 * Every channel of a board shares one scale, so the limits stand under each other and a level that
 * is out of place can be seen from across the room.
 */
import type { LevelClass, LevelContract } from "../events/levels.ts";
import type { Glyphs } from "./glyphs.ts";
import { type Span, span, type TextLine, type Tone } from "./text-line.ts";

export interface BarScale {
  readonly columns: number;
  readonly contract: LevelContract;
  /** Volts at the right end; the left end is 0 V. */
  readonly topV: number;
}

/** Room above VOH so that a healthy high does not sit on the edge. */
const HEADROOM_FRACTION = 0.08;

/** Right end of the scale: the highest level the board can show, with a little headroom. */
export function barTopV(contract: LevelContract, plateHighV: number | null): number {
  const highest = Math.max(plateHighV ?? 0, contract.vohV);
  return highest * (1 + HEADROOM_FRACTION);
}

/** Column of a voltage, from 0; below 0 V gives -1, above the scale gives `columns`. */
export function columnOf(volts: number, scale: BarScale): number {
  if (volts < -scale.topV / scale.columns) return -1;
  if (volts > scale.topV) return scale.columns;
  const column = Math.floor((volts / scale.topV) * scale.columns);
  return Math.min(scale.columns - 1, Math.max(0, column));
}

/** The bar, exactly `scale.columns` wide. */
export function levelBar(
  reading: {
    readonly volts: number | null;
    readonly expected: LevelClass | null;
    /** A line the rig drives has only to be clear for its receiver: VIL and VIH decide. */
    readonly driven: boolean;
    readonly tone: Tone;
  },
  scale: BarScale,
  glyphs: Glyphs,
): TextLine {
  const cells = bandCells(reading, scale, glyphs);
  if (reading.volts === null) return joinCells(cells);
  const column = columnOf(reading.volts, scale);
  const place = Math.min(scale.columns - 1, Math.max(0, column));
  const sign = column < 0 ? glyphs.below : column >= scale.columns ? glyphs.above : glyphs.reading;
  cells[place] = span(sign, reading.tone);
  return joinCells(cells);
}

/** Names of the limits above their marks; empty when the bar is too narrow to hold them apart. */
export function barRuler(scale: BarScale): string {
  const { contract } = scale;
  // The outer names end on their mark and the inner ones start on it, so neighbours stay apart.
  const names = [
    { text: "VOL", from: columnOf(contract.volV, scale) - 2 },
    { text: "VIL", from: columnOf(contract.vilV, scale) },
    { text: "VIH", from: columnOf(contract.vihV, scale) - 2 },
    { text: "VOH", from: columnOf(contract.vohV, scale) },
  ];
  let row = "";
  for (const name of names) {
    if (name.from < row.length + (row === "" ? 0 : 1)) return "";
    row = row.padEnd(name.from) + name.text;
  }
  return row.length > scale.columns ? "" : row;
}

interface Wanted {
  readonly expected: LevelClass | null;
  readonly driven: boolean;
}

function bandCells(wanted: Wanted, scale: BarScale, glyphs: Glyphs): Span[] {
  const { contract, columns, topV } = scale;
  const marks = new Set(
    [contract.volV, contract.vilV, contract.vihV, contract.vohV].map((limitV) =>
      columnOf(limitV, scale),
    ),
  );
  return Array.from({ length: columns }, (_, column) => {
    if (marks.has(column)) return span(glyphs.limit, "faint");
    const volts = ((column + 0.5) / columns) * topV;
    return bandCell(volts, wanted, contract, glyphs);
  });
}

function bandCell(
  volts: number,
  { expected, driven }: Wanted,
  contract: LevelContract,
  glyphs: Glyphs,
): Span {
  const lowV = driven ? contract.vilV : contract.volV;
  const highV = driven ? contract.vihV : contract.vohV;
  if (volts <= lowV) return goodBand(expected === "low", glyphs);
  if (volts >= highV) return goodBand(expected === "high", glyphs);
  if (volts <= contract.vilV || volts >= contract.vihV) return span(glyphs.short, "faint");
  return span(glyphs.between, "faint");
}

function goodBand(wanted: boolean, glyphs: Glyphs): Span {
  return wanted ? span(glyphs.wanted) : span(glyphs.band, "faint");
}

/** Neighbours of one tone become one span: fewer pieces to lay out in every frame. */
function joinCells(cells: readonly Span[]): TextLine {
  const joined: Span[] = [];
  for (const cell of cells) {
    const last = joined.at(-1);
    if (last !== undefined && last.tone === cell.tone) {
      joined[joined.length - 1] = span(last.text + cell.text, cell.tone);
    } else {
      joined.push(cell);
    }
  }
  return joined;
}
