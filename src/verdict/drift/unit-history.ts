/**
 * What is known of a level before a run: what earlier runs of the same unit taught of it, or what such
 * stages usually do. What was taught makes a night twice as keen, for then a rail that went one way all night can be allowed for.
 */
import type { UnitHistory } from "../../events/unit-history.ts";
import { defaultSensitivity } from "./default-sensitivity.ts";
import type { InfluenceColumns } from "./influences.ts";
import type { LevelSeries } from "./level-series.ts";

export interface Prior {
  /** By influence: volts a unit. */
  readonly mean: Float64Array;
  readonly sd: Float64Array;
  /** Between them, by rows; ones on the diagonal. */
  readonly correlation: Float64Array;
}

/** A sensitivity is not quite the same from night to night: part of its default size. */
const NIGHT_TO_NIGHT = 0.01;

type Columns = Pick<InfluenceColumns, "names" | "middles">;

function usualOf(level: "low" | "high", { names, middles }: Columns, levelV: number) {
  const plateV = middles[names.indexOf("plate")];
  const heaterV = middles[names.indexOf("heater")];
  const at = {
    levelV,
    ...(plateV === undefined ? {} : { plateV }),
    ...(heaterV === undefined ? {} : { heaterV }),
  };
  return names.map((name) => defaultSensitivity(level, name, at));
}

/** What is known of a level before the run: its history where there is one, else what such stages do. */
export function priorOf(
  series: Pick<LevelSeries, "net" | "class">,
  columns: Columns,
  levelV: number,
  history: UnitHistory | null,
): Prior {
  const usual = usualOf(series.class, columns, levelV);
  const learned = history?.levels.find(
    (one) =>
      one.net === series.net &&
      one.class === series.class &&
      one.influences.join() === columns.names.join() &&
      one.coefficients.length === columns.names.length &&
      one.covariance.length === columns.names.length ** 2,
  );
  const size = usual.length;
  const covariance = new Float64Array(size * size);
  for (const [i, { sd }] of usual.entries()) covariance[i * size + i] = sd * sd;
  if (learned === undefined)
    return priorFrom(
      usual.map(({ mean }) => mean),
      covariance,
    );
  covariance.set(learned.covariance);
  for (const [i, { mean, sd }] of usual.entries()) {
    const wander = NIGHT_TO_NIGHT * Math.max(Math.abs(mean), sd);
    covariance[i * size + i] = (covariance[i * size + i] as number) + wander ** 2;
  }
  return priorFrom(learned.coefficients, covariance);
}

function priorFrom(means: readonly number[], covariance: Float64Array): Prior {
  const size = means.length;
  const sd = Float64Array.from(means, (_, i) => Math.sqrt(covariance[i * size + i] as number));
  const correlation = covariance.map(
    (one, at) => one / ((sd[Math.floor(at / size)] as number) * (sd[at % size] as number)),
  );
  return { mean: Float64Array.from(means), sd, correlation };
}
