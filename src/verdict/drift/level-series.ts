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
  const steps = new Map<number, Map<string, Cell>>();
  for (const [row, { readings }] of sets.entries()) {
    for (const { step, net, class: expected, volts } of readings) {
      if (expected === "between") continue;
      let cells = steps.get(step);
      if (cells === undefined) {
        cells = new Map();
        steps.set(step, cells);
      }
      let cell = cells.get(net);
      if (cell === undefined || cell.class !== expected) {
        cell = { net, class: expected, volts: new Float64Array(sets.length).fill(Number.NaN) };
        cells.set(net, cell);
      }
      if (volts !== null) cell.volts[row] = volts;
    }
  }
  const series = new Map<string, { net: string; class: LevelClass; steps: Float64Array[] }>();
  const all = [...steps.values()].flatMap((cells) => [...cells.values()]);
  for (const { net, class: expected, volts } of all) {
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

function meanOfSteps(steps: readonly Float64Array[], rows: number): Float64Array {
  const medians = steps.map((volts) => {
    const read = volts.filter((one) => !Number.isNaN(one));
    return read.length === 0 ? Number.NaN : median(read);
  });
  const usual = medians.reduce((sum, one) => sum + one, 0) / steps.length;
  return Float64Array.from({ length: rows }, (_, row) => {
    let sum = 0;
    for (const [at, volts] of steps.entries()) {
      sum += (volts[row] as number) - (medians[at] as number);
    }
    return usual + sum / steps.length;
  });
}
