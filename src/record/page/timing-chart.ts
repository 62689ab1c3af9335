/** The steps of a proof as waves: what each net was to be, and what it was read as. */
import type { JudgedReading } from "../../events/events.ts";
import type { DrivenLevel, LevelClass, LevelContract } from "../../events/levels.ts";
import type { ExpectedClasses, Plan } from "../../events/plan.ts";
import { type Drawing, line, newDrawing, rect, text } from "../../pictures/svg.ts";
import { type Timing, timingOf } from "../../pictures/timing.ts";
import { goesOn } from "../../verdict/decision-rule.ts";
import { classOf } from "../../verdict/level-class.ts";
import type { AcceptanceRecord, HoldRecord, StepRecord } from "../acceptance-record.ts";
import { chartSvg, mark } from "./chart.ts";
import { shortened } from "./level-plot.ts";

const LEFT = 110;
const STEP_WIDTH = 20;
const STEPS_ABREAST = 30;
const ROW = 24;
const WAVE = 13;
const HEAD = 26;
const BLOCK_GAP = 18;
/** A longer sequence is told in the tables from there on. */
const STEPS_DRAWN_MAX = 240;

/** What one net was read as in one column. */
interface Cell {
  readonly class: LevelClass | null;
  readonly isBad: boolean;
}

export interface TimingChart {
  readonly svg: string;
  readonly columnsLeftOut: number;
}

/** Null where no step was read. */
export function timingChart(record: AcceptanceRecord, plan: Plan): TimingChart | null {
  if (record.steps.every(({ result }) => result === "not tested")) return null;
  const timing = timingOf(plan);
  const columns = partsOf(plan);
  const drawn = Math.min(columns.length, STEPS_DRAWN_MAX);
  const blockHeight = HEAD + timing.rows.length * ROW + BLOCK_GAP;
  const drawing = newDrawing();
  const blocks = Math.ceil(drawn / STEPS_ABREAST);
  for (let block = 0; block < blocks; block += 1) {
    const from = block * STEPS_ABREAST;
    const to = Math.min(from + STEPS_ABREAST, drawn);
    drawBlock(drawing, { timing, columns, record }, { from, to, top: block * blockHeight });
  }
  return {
    columnsLeftOut: columns.length - drawn,
    svg: chartSvg(drawing, {
      id: "timing",
      title: "Steps of the sequence, expected against measured",
      description: `${describe(record, columns.length)}${modelWords(columns)}`,
      height: blocks * blockHeight,
    }),
  };
}

interface Part {
  readonly step: number;
  readonly part: "pattern" | "hold" | "flip";
  /** What the model says where it says otherwise than the file. */
  readonly modelSays: ExpectedClasses;
}

/** In the order of the columns of `timingOf`. */
function partsOf({ steps }: Plan): Part[] {
  return steps.flatMap((step): Part[] => {
    const { index, modelSays = {} } = step;
    if (step.kind === "pattern") return [{ step: index, part: "pattern", modelSays }];
    return [
      { step: index, part: "hold", modelSays },
      { step: index, part: "flip", modelSays: step.flip.modelSays ?? {} },
    ];
  });
}

interface Given {
  readonly timing: Timing;
  readonly columns: readonly Part[];
  readonly record: AcceptanceRecord;
}

interface Place {
  readonly from: number;
  readonly to: number;
  readonly top: number;
}

function drawBlock(drawing: Drawing, given: Given, { from, to, top }: Place): void {
  const { timing, columns, record } = given;
  const foot = top + HEAD + timing.rows.length * ROW;
  for (let at = from; at < to; at += 1) {
    const x = LEFT + (at - from) * STEP_WIDTH;
    const part = columns[at];
    if (part === undefined) continue;
    if (part.part !== "pattern") {
      rect(drawing, { x, y: top + HEAD - 4, w: STEP_WIDTH, h: foot - top - HEAD + 4 }, "moved");
    }
    if (at === from || (part.step + 1) % 5 === 0) {
      if (part.part !== "flip") {
        text(drawing, { x: x + 1, y: top + 14, look: "small" }, String(part.step + 1));
      }
      line(
        drawing,
        [
          [x, top + 18],
          [x, foot],
        ],
        "grid",
      );
    }
  }
  for (const [index, row] of timing.rows.entries()) {
    const y = top + HEAD + index * ROW;
    const look = row.kind === "line" ? "faint" : "strong";
    text(drawing, { x: LEFT - 8, y: y + 12, anchor: "end", look }, shortened(row.name));
    const place = { left: LEFT, top: y + 1 };
    const cells = row.cells.slice(from, to);
    if (row.kind === "line") {
      wave(drawing, cells, { ...place, look: "second" });
      continue;
    }
    const shown = columns.slice(from, to);
    const read = shown.map((part) => cellOf(record, part, row.name));
    for (const [column, part] of shown.entries()) {
      const says = part.modelSays[row.name];
      if (says !== undefined)
        modelMark(drawing, { left: LEFT + column * STEP_WIDTH, top: y + 1 }, says);
    }
    wave(drawing, cells, { ...place, look: "expected" });
    wave(
      drawing,
      read.map((cell) => cell.class),
      { ...place, look: "series" },
    );
    for (const [column, { isBad }] of read.entries()) {
      if (!isBad) continue;
      const x = LEFT + (column + 0.5) * STEP_WIDTH;
      mark(drawing, { x, y: y + 1 + WAVE / 2, shape: "cross" }, "miss");
    }
  }
}

/** An M at the level that the model of the stages says, where the file says otherwise. */
function modelMark(
  drawing: Drawing,
  { left, top }: { readonly left: number; readonly top: number },
  says: LevelClass,
): void {
  const y = says === "high" ? top + 4 : top + WAVE + 4;
  text(drawing, { x: left + STEP_WIDTH / 2, y, anchor: "middle", look: "small" }, "M");
}

type Level = DrivenLevel | LevelClass | null;

interface WavePlace {
  readonly left: number;
  readonly top: number;
  readonly look: "expected" | "series" | "second";
}

/** Up is high, down is low, the middle is between; a gap is nothing. */
function wave(drawing: Drawing, cells: readonly Level[], { left, top, look }: WavePlace): void {
  const heights = { high: top, between: top + WAVE / 2, low: top + WAVE } as const;
  let points: [number, number][] = [];
  const flush = (): void => {
    if (points.length > 0) line(drawing, points, look);
    points = [];
  };
  for (const [index, cell] of cells.entries()) {
    if (cell === null) {
      flush();
      continue;
    }
    const x = left + index * STEP_WIDTH;
    points.push([x, heights[cell]], [x + STEP_WIDTH, heights[cell]]);
  }
  flush();
}

function cellOf({ steps, holds, rule }: AcceptanceRecord, { step, part }: Part, net: string): Cell {
  const readings = (steps[step]?.readings ?? []).filter(
    (one) => one.channel === net && one.part === part,
  );
  const bad = readings.find(({ result }) => isMiss(result));
  if (part === "pattern") {
    return { class: readings.at(-1)?.class ?? null, isBad: bad !== undefined };
  }
  const hold = holds.find((one) => one.step === step && one.part === part);
  const held = bad?.class ?? heldClass(hold, net, rule.contract) ?? readings.at(-1)?.class ?? null;
  return { class: held, isBad: bad !== undefined };
}

function isMiss(result: JudgedReading["result"]): boolean {
  return !goesOn(result);
}

/** Of a net whose extremes are not of one class, between: it was not one level. */
function heldClass(
  hold: HoldRecord | undefined,
  net: string,
  contract: LevelContract,
): LevelClass | null {
  const extremes = hold?.extremes[net];
  if (extremes === undefined) return null;
  const lowest = classOf(extremes.lowV, contract);
  return lowest === classOf(extremes.highV, contract) ? lowest : "between";
}

function modelWords(columns: readonly Part[]): string {
  const count = columns.filter(({ modelSays }) => Object.keys(modelSays).length > 0).length;
  return count === 0
    ? ""
    : ` M marks what the model of the stages says where the file says otherwise, in ${count === 1 ? "1 column" : `${count} columns`}; nothing is judged by it.`;
}

function describe({ steps }: AcceptanceRecord, columnCount: number): string {
  const missed = steps.filter(
    (one): one is StepRecord => one.result === "fail" || one.result === "void",
  );
  const found =
    missed.length === 0
      ? "Every net that was read had the class that was expected of it."
      : `Not as expected: ${missed
          .slice(0, 20)
          .map(({ step, name }) => `step ${step + 1} ${name}`)
          .join(", ")}${missed.length > 20 ? ` and ${missed.length - 20} more` : ""}.`;
  return `${columnCount} columns, one for each pattern and two for each hold. ${found} The table of results has every reading.`;
}
