/**
 * The levels of a run as series: one for each net and class it was expected in. A net's low level is the
 * work of the section that conducts; its high level that of load, plate rail and what hangs on the net.
 */
import type { LevelClass } from "../../events/levels.ts";
import { median } from "../../measure/statistics/median.ts";
import type { DriftSet } from "./drift-set.ts";

export interface LevelSeries {
  readonly net: string;
  readonly class: Exclude<LevelClass, "between">;
  /** By set, volts; NaN where the net was not read in every step that it is read in. */
  readonly volts: Float64Array;
}

/** One net in one step of the cycle, which expects it in one class. */
interface Cell {
  readonly step: number;
  readonly net: string;
  readonly class: LevelClass;
  readonly volts: Float64Array;
}

/**
 * A net stands a little different in each step of the cycle, by what drives it. So each step counts by
 * how far it is from its own median, and the series is the mean of that over the steps.
 *
 * @param sets in the order of time
 */
export function levelSeries(sets: readonly DriftSet[]): LevelSeries[] {
  const series = new Map<string, { net: string; class: LevelClass; steps: Float64Array[] }>();
  for (const { net, class: expected, volts } of cellsOf(sets)) {
    const key = `${expected} ${net}`;
    const known = series.get(key);
    if (known === undefined) series.set(key, { net, class: expected, steps: [volts] });
    else known.steps.push(volts);
  }
  return [...series.values()].map(({ net, class: expected, steps }) => ({
    net,
    class: expected === "low" ? "low" : "high",
    volts: meanOfSteps(steps, sets.length),
  }));
}

function cellsOf(sets: readonly DriftSet[]): Cell[] {
  const steps = new Map<number, Map<string, Cell>>();
  // A set reads what the one before it read, in the same order: so few cells have to be looked for.
  let before: (Cell | undefined)[] = [];
  for (const [row, { readings }] of sets.entries()) {
    for (let place = 0; place < readings.length; place += 1) {
      const { step, net, class: expected, volts } = readings[place] as DriftSet["readings"][number];
      if (expected === "between") continue;
      let cell = before[place];
      if (cell?.step !== step || cell.net !== net || cell.class !== expected) {
        let cells = steps.get(step);
        if (cells === undefined) {
          cells = new Map();
          steps.set(step, cells);
        }
        cell = cells.get(net);
        if (cell === undefined || cell.class !== expected) {
          const none = new Float64Array(sets.length).fill(Number.NaN);
          cell = { step, net, class: expected, volts: none };
          cells.set(net, cell);
          before = [];
        }
        before[place] = cell;
      }
      if (volts !== null) cell.volts[row] = volts;
    }
  }
  return [...steps.values()].flatMap((cells) => [...cells.values()]);
}

function meanOfSteps(steps: readonly Float64Array[], rows: number): Float64Array {
  const medians = steps.map((volts) => {
    const read = volts.includes(Number.NaN) ? volts.filter((one) => !Number.isNaN(one)) : volts;
    return read.length === 0 ? Number.NaN : median(read);
  });
  const usual = medians.reduce((sum, one) => sum + one, 0) / steps.length;
  const mean = new Float64Array(rows);
  for (const [at, volts] of steps.entries()) {
    const middle = medians[at] as number;
    for (let row = 0; row < rows; row += 1) {
      mean[row] = (mean[row] as number) + ((volts[row] as number) - middle);
    }
  }
  for (let row = 0; row < rows; row += 1) {
    mean[row] = usual + (mean[row] as number) / steps.length;
  }
  return mean;
}
