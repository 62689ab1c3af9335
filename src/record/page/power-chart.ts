/** The rails over the whole run: phases, volts inside their windows, gates, switchings and falls. */
import { voltsText, windowText } from "../../measure/volts-text.ts";
import { type Drawing, line, newDrawing, rect, text } from "../../pictures/svg.ts";
import { duration } from "../../plan/quantity-words.ts";
import type { AcceptanceRecord } from "../acceptance-record.ts";
import { FALL_WORDS } from "../record-words.ts";
import {
  across,
  type Box,
  bandAcross,
  CHART_WIDTH,
  chartSvg,
  curve,
  down,
  type Interval,
  mark,
  roomy,
  type Scale,
  type Shape,
  scale,
  timeAxis,
  voltsAxis,
} from "./chart.ts";
import type { PhaseSpan, PowerFacts, PowerMark, RailCurve } from "./power-facts.ts";

const LEFT = 110;
const PANEL = 110;
const GAP = 26;
const STRIP_TOP = 4;
const STRIP = 40;
const LETTER_WIDTH = 7;
const TOP = STRIP_TOP + STRIP + 30;

/** Null in a run that never came to look at its rails. */
export function powerChart(record: AcceptanceRecord, facts: PowerFacts): string | null {
  const rails = facts.rails.filter(({ board, source }) => board.count + source.count > 0);
  if (rails.length === 0 || facts.lengthMs <= 0) return null;
  const drawing = newDrawing();
  const width = CHART_WIDTH - LEFT - 16;
  const x = scale({ from: 0, to: facts.lengthMs }, { from: LEFT, to: LEFT + width });
  const foot = TOP + rails.length * (PANEL + GAP) - GAP + 18;
  drawPhases(drawing, facts.phases, { x, foot });
  for (const { fromMs, toMs } of facts.blind) {
    const from = x(fromMs);
    rect(drawing, { x: from, y: TOP, w: Math.max(1, x(toMs) - from), h: foot - TOP }, "gap");
  }
  for (const [index, rail] of rails.entries()) {
    const box = { left: LEFT, top: TOP + index * (PANEL + GAP), width, height: PANEL };
    drawRail(drawing, rail, { box, x, lengthMs: facts.lengthMs });
  }
  timeAxis(drawing, { left: LEFT, top: foot, width, height: 0 }, { lengthMs: facts.lengthMs, x });
  return chartSvg(drawing, {
    id: "power",
    title: "Rails over the whole run",
    description: describe(record, facts),
    height: foot + 40,
  });
}

/** Names stand on two rows in turn, and only where they have room. */
function drawPhases(
  drawing: Drawing,
  phases: readonly PhaseSpan[],
  { x, foot }: { readonly x: Scale; readonly foot: number },
): void {
  const endOfRow = [0, 0];
  for (const { phase, fromMs, toMs } of phases) {
    const from = x(fromMs);
    const isLong = x(toMs) - from > 3;
    if (isLong)
      down(drawing, { top: STRIP_TOP, height: foot - STRIP_TOP }, { x: from, look: "grid" });
    const row = endOfRow.findIndex((end) => end <= from);
    if (!isLong || row < 0) continue;
    const width = phase.length * LETTER_WIDTH + 6;
    const isAtEdge = from + width > CHART_WIDTH - 4;
    const place = isAtEdge ? { x: CHART_WIDTH - 4, anchor: "end" as const } : { x: from + 3 };
    if (isAtEdge && CHART_WIDTH - 4 - width < (endOfRow[row] ?? 0)) continue;
    text(drawing, { ...place, y: STRIP_TOP + 14 + row * 18, look: "small" }, phase);
    endOfRow[row] = from + 3 + width;
  }
}

interface RailPlace {
  readonly box: Box;
  readonly x: Scale;
  readonly lengthMs: number;
}

function drawRail(drawing: Drawing, rail: RailCurve, { box, x, lengthMs }: RailPlace): void {
  const { planned, board, source, marks } = rail;
  const { lowV, highV } = planned.window;
  const seen = [...board.columns(), ...source.columns()].reduce<Interval>(
    ({ from, to }, { low, high }) => ({ from: Math.min(from, low), to: Math.max(to, high) }),
    { from: Math.min(0, lowV), to: Math.max(0, highV) },
  );
  const volts = roomy(seen, 0.1);
  const y = scale(volts, { from: box.top + box.height, to: box.top });
  bandAcross(drawing, box, { from: y(lowV), to: y(highV), look: "window" });
  voltsAxis(drawing, box, { volts, y });
  across(drawing, box, { y: y(lowV), look: "limit" });
  across(drawing, box, { y: y(highV), look: "limit" });
  across(drawing, box, { y: y(0), look: "axis" });
  text(drawing, { x: 4, y: box.top + 14, look: "strong" }, planned.rail);
  text(drawing, { x: 4, y: box.top + 30, look: "small" }, `${planned.nominalV} V`);
  const breakMs = Math.max(20_000, 3 * (lengthMs / 480), 3 * board.widthMs);
  curve(drawing, source.columns(), { x, y, look: "second", breakMs });
  curve(drawing, board.columns(), { x, y, look: "series", breakMs });
  for (const one of marks) drawMark(drawing, one, { box, x });
}

const SHAPES: Readonly<Record<PowerMark["kind"], Shape>> = {
  gate: "diamond",
  "shut gate": "cross",
  on: "up",
  off: "down",
  fall: "square",
  "unproved fall": "cross",
};

function drawMark(
  drawing: Drawing,
  { kind, ms }: PowerMark,
  { box, x }: { readonly box: Box; readonly x: Scale },
): void {
  const isBad = kind === "shut gate" || kind === "unproved fall";
  const y = box.top + box.height + 8;
  line(
    drawing,
    [
      [x(ms), box.top],
      [x(ms), y - 5],
    ],
    "grid",
  );
  mark(drawing, { x: x(ms), y, shape: SHAPES[kind] }, isBad ? "miss" : "worst");
}

function describe({ rails }: AcceptanceRecord, { lengthMs, blind }: PowerFacts): string {
  const told = rails.map(({ rail, lowV, highV, boardV, fall }) => {
    const board = boardV === null ? "never read at the board" : `${voltsText(boardV)} at the board`;
    return `${rail}: ${board}, window ${windowText({ lowV, highV })}, ${FALL_WORDS[fall]}`;
  });
  const gaps =
    blind.length === 0 ? "" : ` ${blind.length} times nothing was sealed although rails were up.`;
  return `${duration(lengthMs)} in all. ${told.join("; ")}.${gaps}`;
}
