/** A sequence as waves over steps. */
import type { Plan } from "../events/plan.ts";
import { duration } from "../plan/quantity-words.ts";
import { type Drawing, type Extent, LETTER, line, MARGIN, ROW, rect, text } from "./svg.ts";
import { type Timing, type TimingRow, timingOf } from "./timing.ts";

const STEP_WIDTH = 18;
const WAVE_HEIGHT = 12;

/** Steps side by side; a longer sequence goes on below. */
const STEPS_ABREAST = 60;

/** Steps drawn at all: a picture of a hundred thousand would open nowhere. */
const STEPS_DRAWN_MAX = 1200;

export function drawTiming(drawing: Drawing, plan: Plan, top: number): Extent {
  const timing = timingOf(plan);
  const left = MARGIN + Math.max(...timing.rows.map(({ name }) => name.length)) * (LETTER + 1) + 12;
  const heading = `Sequence ${plan.sequence.name}: ${plan.steps.length} steps, about ${duration(plan.estimatedPassMs)} when warm`;
  text(drawing, { x: MARGIN, y: top + 14, look: "strong" }, heading);
  const drawn = Math.min(timing.columns.length, STEPS_DRAWN_MAX);
  const blockHeight = (timing.rows.length + 2.5) * ROW;
  const blocks = Math.ceil(drawn / STEPS_ABREAST);
  for (let block = 0; block < blocks; block += 1) {
    const from = block * STEPS_ABREAST;
    const part = sliceOf(timing, from, Math.min(from + STEPS_ABREAST, drawn));
    drawBlock(drawing, part, { left, top: top + 48 + block * blockHeight, from });
  }
  const words = [
    "Up is high, down is low, a dashed box is between, a gap is not asked; shaded: held.",
    ...(drawn < timing.columns.length ? [`Steps from ${drawn + 1} on are not drawn.`] : []),
    ...timing.columns.slice(0, drawn).flatMap(({ name, kind, lengthMs, moved }, index) => {
      if (kind === "pattern") return [];
      const moves =
        moved.length === 0
          ? ""
          : `, while ${moved.join(", ")} ${moved.length === 1 ? "moves" : "move"}`;
      return [`${index + 1} ${name}, ${duration(lengthMs)}${moves}`];
    }),
  ];
  const bottom = top + 34 + blocks * blockHeight;
  for (const [index, one] of words.entries()) {
    text(drawing, { x: MARGIN, y: bottom + index * ROW, look: "faint" }, one);
  }
  const widest = Math.max(
    heading.length * (LETTER + 1),
    ...words.map((one) => one.length * LETTER),
  );
  return {
    bottom: bottom + (words.length - 1) * ROW,
    right: Math.max(left + Math.min(drawn, STEPS_ABREAST) * STEP_WIDTH, MARGIN + widest),
  };
}

function sliceOf({ columns, rows }: Timing, from: number, to: number): Timing {
  return {
    columns: columns.slice(from, to),
    rows: rows.map((row) => ({ ...row, cells: row.cells.slice(from, to) })),
  };
}

interface BlockPlace {
  readonly left: number;
  readonly top: number;
  /** Steps before this block. */
  readonly from: number;
}

function drawBlock(drawing: Drawing, timing: Timing, place: BlockPlace): void {
  const { left, top } = place;
  drawRuler(drawing, timing, place);
  for (const [index, row] of timing.rows.entries()) {
    const y = top + index * ROW + (row.kind === "net" ? ROW / 2 : 0);
    const look = row.kind === "line" ? "strong" : "faint";
    text(drawing, { x: left - 8, y: y + 14, anchor: "end", look }, row.name);
    drawWave(drawing, row, { left, top: y + 2 });
  }
}

/** A number every five steps, and holds shaded over the whole height. */
function drawRuler(
  drawing: Drawing,
  { columns, rows }: Timing,
  { left, top, from }: BlockPlace,
): void {
  const height = (rows.length + 0.5) * ROW;
  for (const [index, { kind }] of columns.entries()) {
    const x = left + index * STEP_WIDTH;
    if (kind !== "pattern") rect(drawing, { x, y: top, w: STEP_WIDTH, h: height }, "moved");
    if (index % 5 !== 0) continue;
    text(drawing, { x: x + 2, y: top - 6, look: "faint" }, String(from + index + 1));
    line(
      drawing,
      [
        [x, top],
        [x, top + height],
      ],
      "rule",
    );
  }
}

/** One row as a wave: a step up is high, down is low; a dashed box is between; a gap is not said. */
function drawWave(
  drawing: Drawing,
  { cells }: TimingRow,
  { left, top }: { readonly left: number; readonly top: number },
): void {
  let points: [number, number][] = [];
  const flush = (): void => {
    if (points.length > 0) line(drawing, points, "wire");
    points = [];
  };
  for (const [index, cell] of cells.entries()) {
    const x = left + index * STEP_WIDTH;
    if (cell === "high" || cell === "low") {
      const y = cell === "high" ? top : top + WAVE_HEIGHT;
      points.push([x, y], [x + STEP_WIDTH, y]);
      continue;
    }
    flush();
    if (cell === "between") {
      rect(drawing, { x, y: top, w: STEP_WIDTH, h: WAVE_HEIGHT }, "between");
    }
  }
  flush();
}
