/** Every level's own part of its drift: what the others share is taken out, and who moves alone is told. */
import { median } from "../../measure/statistics/median.ts";
import { type LevelFit, sizeAlong } from "./fit-level.ts";
import { type LevelDrift, levelDrift } from "./level-drift.ts";
import { type SharedMotion, sharedMotion, withoutShared } from "./shared-motion.ts";

export interface WeighedLevel {
  readonly fit: LevelFit;
  readonly drift: LevelDrift;
  /** Own part of the drift in its standard deviations; positive is up. */
  readonly ownSd: number;
  /** Whether it goes one way while its sisters do not. */
  readonly alone: boolean;
}

export interface Weighed {
  readonly levels: readonly WeighedLevel[];
  readonly shared: SharedMotion;
  /** Volts all went together over the run, where that is more than chance; else 0. */
  readonly togetherV: number;
}

/** Sisters' middle counts as moved beyond this, and a level as apart from it. Standard deviations. */
const MOVED_SD = 2;
const APART_SD = 1.5;
/** A part of one's own drift that the sisters may show as well before it is no longer one's own. */
const SISTERS_PART = 0.5;
/** All together moved: as rare as an alarm. Standard deviations. */
const TOGETHER_SD = 3.1;

/** @param fits levels of one class */
export function weighLevels(fits: readonly LevelFit[]): Weighed {
  const shared = sharedMotion(fits);
  const drifts = fits.map((fit) => levelDrift(fit, shared.widening));
  const standard = fits.map((fit) => {
    const { size, sd } = sizeAlong(fit.innovations, fit.lineLeft);
    return size / sd / shared.widening;
  });
  const levels = fits.map((fit, at) => {
    const drift = drifts[at] as LevelDrift;
    const others = drifts.filter((_, which) => which !== at);
    const othersSd = standard.filter((_, which) => which !== at);
    const ownSd = withoutShared(standard[at] as number, othersSd, shared);
    return { fit, drift, ownSd, alone: isAlone(drift, others) };
  });
  return { levels, shared, togetherV: togetherOf(drifts, shared) };
}

function isAlone(own: LevelDrift, others: readonly LevelDrift[]): boolean {
  if (others.length === 0) return true;
  const middleV = median(others.map(({ driftV }) => driftV));
  const middleSdV = median(others.map(({ sdV }) => sdV)) / Math.sqrt(others.length);
  const apart = Math.abs(own.driftV - middleV) / Math.hypot(own.sdV, middleSdV);
  const follows = Math.abs(middleV) > MOVED_SD * middleSdV && middleV / own.driftV > SISTERS_PART;
  return apart > APART_SD && !follows;
}

function togetherOf(drifts: readonly LevelDrift[], { correlation }: SharedMotion): number {
  const count = drifts.length;
  if (count < 2) return 0;
  const middleV = median(drifts.map(({ driftV }) => driftV));
  const sdV =
    median(drifts.map((one) => one.sdV)) * Math.sqrt((1 + (count - 1) * correlation) / count);
  const oneWay = drifts.every(
    ({ driftV, sdV: own }) => driftV / middleV > 0 && Math.abs(driftV) > own,
  );
  return oneWay && Math.abs(middleV) > TOGETHER_SD * sdV ? middleV : 0;
}
