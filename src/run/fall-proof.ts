/**
 * Whether the fall of a rail is proved by what its board-side channel showed.
 *
 * Proved means: the channel read the rail inside its window in this run, then showed it falling
 * through volts in between, never faster than the rail can, down to its safe volts. A lead that
 * comes off shows zero, or the rest of its divider, at once: that is "lead lost", never "off".
 */
import type { PlannedRail } from "../events/plan.ts";
import type { TrailPoint } from "./rail-book.ts";

/** Readings between the window and safe volts that a fall must show at the least. */
const MIDDLE_POINTS_MIN = 3;
/** Readings at or below safe volts that end it; the second confirms the first. */
const SAFE_POINTS_MIN = 2;
/**
 * A rail may fall this many times faster than the slowest its file allows: files allow for bleeders
 * that have lost value and reservoirs that were made larger.
 */
const FASTER_THAN_ALLOWED = 200;
/**
 * No reservoir with its load is taken to be faster, ms. A lead that comes off shows the time constant
 * of its divider and pin capacitor, some 0.1 ms, and stays far beyond it.
 */
const FASTEST_DECAY_MS = 5;
/** Ripple and converter noise, as a fraction of nominal, that a falling rail may show. */
const RIPPLE_FRACTION = 0.03;

export type FallFinding =
  | { readonly kind: "not seen in window" }
  | { readonly kind: "falling"; readonly volts: number | null }
  | { readonly kind: "verified"; readonly volts: number; readonly atMs: number }
  | { readonly kind: "lead lost"; readonly volts: number | null }
  | { readonly kind: "not followed"; readonly volts: number | null };

/**
 * Fastest decay a rail is believed to make: time constant in ms.
 *
 * An exponential from nominal to safe volts within fallMsMax has the time constant
 * fallMsMax / ln(nominal / safe); a rail may have a 200th of it, and 5 ms at the least.
 */
export function fastestDecayMs(rail: PlannedRail): number {
  const ratio = Math.abs(rail.nominalV) / rail.safeV;
  return Math.max(FASTEST_DECAY_MS, rail.fallMsMax / Math.log(ratio) / FASTER_THAN_ALLOWED);
}

/**
 * Judge a trail, oldest first, that begins with the last reading inside the window.
 *
 * @param stepV volts of one converter step on this channel
 */
export function judgeFall(
  trail: readonly TrailPoint[],
  rail: PlannedRail,
  stepV: number,
): FallFinding {
  const first = trail[0];
  if (first === undefined) return { kind: "not seen in window" };
  const sign = Math.sign(rail.nominalV);
  const noiseV = Math.max(2 * stepV, RIPPLE_FRACTION * Math.abs(rail.nominalV));
  const windowNearV = Math.min(Math.abs(rail.window.lowV), Math.abs(rail.window.highV));
  const decayMs = fastestDecayMs(rail);
  let before = { atMs: first.atMs, height: Number(first.volts) * sign };
  let lowest = before.height;
  let middlePoints = 0;
  let safePoints = 0;
  for (const { atMs, volts } of trail.slice(1)) {
    if (volts === null) return { kind: "lead lost", volts };
    const height = volts * sign;
    const leastHeight = before.height * Math.exp(-(atMs - before.atMs) / decayMs) - noiseV;
    if (height < leastHeight) return { kind: "lead lost", volts };
    if (height > lowest + noiseV) return { kind: "not followed", volts };
    if (Math.abs(volts) > rail.safeV) {
      middlePoints += height < windowNearV ? 1 : 0;
      safePoints = 0;
    } else if (middlePoints < MIDDLE_POINTS_MIN) {
      return { kind: "not followed", volts };
    } else if (++safePoints >= SAFE_POINTS_MIN) {
      return { kind: "verified", volts, atMs };
    }
    before = { atMs, height };
    lowest = Math.min(lowest, height);
  }
  return { kind: "falling", volts: trail.at(-1)?.volts ?? null };
}

/** An unloaded rail is at rest this soon after the order: a relay's release and two scans. */
const EMPTY_FALL_MS_MAX = 60;
/** The lead must have read the rail in its window this shortly before. */
const EMPTY_SEEN_MS_MAX = 60;
/** At rest it has to stay, for so many readings over so long. */
const EMPTY_REST = { points: 10, ms: 60 };

/**
 * The same with nothing on the connector. Without a reservoir a rail falls at once, as a lead that comes off
 * does; off is believed because the lead read the rail in its window right before the order, and right
 * after it what an unloaded divider reads. A rail that decays after all is judged as any other.
 *
 * @param orderedMs when the rail was ordered off, by the host or by the controller
 * @param restV     what the board side reads on nothing but its own divider
 */
export function judgeEmptyFall(
  trail: readonly TrailPoint[],
  rail: PlannedRail,
  given: { readonly stepV: number; readonly restV: number; readonly orderedMs: number },
): FallFinding {
  const { stepV, restV, orderedMs } = given;
  const [first, ...after] = trail;
  if (first === undefined) return { kind: "not seen in window" };
  const isAtRest = (volts: number): boolean =>
    Math.abs(volts) <= rail.safeV || Math.abs(volts - restV) <= 3 * stepV;
  const slow = after.some(
    ({ atMs, volts }) => volts !== null && !isAtRest(volts) && atMs > orderedMs + EMPTY_FALL_MS_MAX,
  );
  if (slow) return judgeFall(trail, rail, stepV);
  if (first.atMs < orderedMs - EMPTY_SEEN_MS_MAX) return { kind: "lead lost", volts: first.volts };
  const rest: TrailPoint[] = [];
  for (const point of after) {
    if (point.volts === null) return { kind: "lead lost", volts: null };
    if (isAtRest(point.volts)) rest.push(point);
  }
  const [from, last] = [rest[0], rest.at(-1)];
  if (from === undefined || last === undefined || last.volts === null) {
    return { kind: "falling", volts: trail.at(-1)?.volts ?? null };
  }
  const isLong = rest.length >= EMPTY_REST.points && last.atMs - from.atMs >= EMPTY_REST.ms;
  return isLong
    ? { kind: "verified", volts: last.volts, atMs: from.atMs }
    : { kind: "falling", volts: last.volts };
}
