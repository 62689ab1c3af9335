/**
 * How long a control chart runs until it alarms, from its transitions between one residual and the next.
 *
 * The values a chart may have without an alarm are laid on quadrature nodes, and their probabilities are
 * carried from residual to residual: the integral equation of Page (1954) and Crowder (1987,
 * Technometrics 29, 401-407), iterated rather than solved, so that limits may change with time.
 */

/** One residual: how the probability moves that no alarm has been yet. */
export interface Transition {
  /** Chance of an alarm, from each place. */
  readonly leaving: Float64Array;
  /** Probability that goes to a place (outer) from a place (inner). */
  readonly stay: readonly Float64Array[];
}

/** Residuals after which a chart that has not settled is given up. */
const POINTS_MAX = 200_000;
/** Relative change of the chance of an alarm, from one residual to the next, that counts as none. */
const SETTLED = 1e-10;
/** So often in a row. */
const SETTLED_POINTS = 5;

/**
 * The chance of an alarm at residual 1, 2, ..., each given that none has been before. Ends where none
 * can be left without one.
 *
 * @param transitions endless; the first from the single place where the chart starts
 */
export function* alarmHazards(transitions: Iterable<Transition>): Generator<number> {
  let places: Float64Array = Float64Array.of(1);
  for (const { leaving, stay } of transitions) {
    yield Math.min(1, weighted(leaving, places));
    const next = Float64Array.from(stay, (row) => weighted(row, places));
    const left = next.reduce((sum, one) => sum + one, 0);
    if (!(left > 0)) return;
    places = next.map((one) => one / left);
  }
}

/**
 * The average number of residuals up to and with the first alarm.
 *
 * @throws RangeError when the chance of an alarm does not settle within 200 000 residuals
 */
export function averageRunLength(hazards: Iterable<number>): number {
  let [average, surviving, last, steady, points] = [0, 1, Number.NaN, 0, 0];
  for (const hazard of hazards) {
    average += surviving;
    surviving *= 1 - hazard;
    steady = Math.abs(hazard - last) <= SETTLED * hazard ? steady + 1 : 0;
    // From here on the run length is geometric.
    if (steady >= SETTLED_POINTS && hazard > 0) return average + surviving / hazard;
    last = hazard;
    points += 1;
    if (points >= POINTS_MAX) {
      throw new RangeError(
        `The chart's chance of an alarm has not settled after ${points} residuals (last ${hazard}).`,
      );
    }
  }
  return average;
}

/** The chance of one alarm or more within the first `points` residuals. */
export function alarmChance(hazards: Iterable<number>, points: number): number {
  if (!(Number.isSafeInteger(points) && points >= 1 && points <= POINTS_MAX)) {
    throw new RangeError(`A chart is judged over 1 to ${POINTS_MAX} residuals, got ${points}.`);
  }
  let [logSurviving, last, steady, point] = [0, Number.NaN, 0, 0];
  for (const hazard of hazards) {
    logSurviving += Math.log1p(-hazard);
    point += 1;
    steady = Math.abs(hazard - last) <= SETTLED * hazard ? steady + 1 : 0;
    if (steady >= SETTLED_POINTS && hazard > 0) {
      logSurviving += (points - point) * Math.log1p(-hazard);
      break;
    }
    last = hazard;
    if (point >= points) break;
  }
  return -Math.expm1(logSurviving);
}

/** One number for each place; several times quicker than `Float64Array.from`, and the kernels are large. */
export function perPlace(places: readonly number[], of: (place: number) => number): Float64Array {
  const row = new Float64Array(places.length);
  for (let at = 0; at < row.length; at += 1) row[at] = of(places[at] ?? 0);
  return row;
}

function weighted(row: Float64Array, places: Float64Array): number {
  let sum = 0;
  for (let at = 0; at < row.length; at += 1) sum += (row[at] ?? 0) * (places[at] ?? 0);
  return sum;
}
