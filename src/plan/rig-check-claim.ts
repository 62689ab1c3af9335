/** What a record says about the newest check of the rig that a run is made on. */

import type { Plan, PlannedChannel } from "../events/plan.ts";
import type { ChannelQuiet, RigCheckName } from "../events/rig-check.ts";
import { voltsPerCode } from "../measure/divider.ts";
import { pickUpRemarks } from "./decide-rule.ts";

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

/** One clause; every run carries one of them. */
export function rigCheckClaim(newest: RigCheckName | null): string {
  if (newest === null) return "rig not checked in full before this run";
  if (!newest.sameRig) return `rig changed since its check of ${dayOf(newest)} (${newest.id})`;
  const fit = newest.fit ? "fit" : "UNFIT";
  return `rig last checked in full ${ageText(newest.ageMs)} and found ${fit} (${dayOf(newest)}, ${newest.id})`;
}

/** A plan whose channels know what hum a check saw on their leads. */
export function withHum(plan: Plan, quiet: readonly ChannelQuiet[]): Plan {
  const seen = new Map(quiet.map((one) => [one.channel, one] as const));
  const heard = {
    ...plan,
    channels: plan.channels.map((channel) => {
      const one = seen.get(channel.name);
      return one === undefined ? channel : { ...channel, humV: humOf(one, channel) };
    }),
  };
  const { rule } = plan;
  if (rule?.evaluated !== true) return heard;
  // What was not known of the pick-up before may be known now.
  const before = new Set(pickUpRemarks(plan));
  const kept = (texts: readonly string[]) => [
    ...texts.filter((text) => !before.has(text)),
    ...pickUpRemarks(heard),
  ];
  return {
    ...heard,
    claims: kept(plan.claims),
    rule: { ...rule, remarks: kept(rule.remarks) },
  };
}

/** At the converter's lowest code a hum shows only from one step on: so much it may be. */
function humOf({ humV, max }: ChannelQuiet, { divider, referenceV }: PlannedChannel): number {
  return max === 0 ? Math.max(humV, voltsPerCode(divider, referenceV)) : humV;
}

function dayOf({ at }: RigCheckName): string {
  return at.slice(0, "2026-05-01".length);
}

function ageText(ageMs: number): string {
  // Simulated days all begin at the same hour, and so does a clock that was set back a little.
  if (ageMs < 0 && ageMs > -DAY_MS) return "on the same day";
  // A clock that was set back further makes a check that is yet to come.
  if (ageMs < 0) return "at a time that this clock has not reached";
  if (ageMs < HOUR_MS) return "within the hour";
  if (ageMs < 2 * DAY_MS) return `${Math.round(ageMs / HOUR_MS)} hours ago`;
  return `${Math.floor(ageMs / DAY_MS)} days ago`;
}
