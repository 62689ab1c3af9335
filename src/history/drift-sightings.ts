/**
 * What soaks saw drift, laid to tubes by their serials: a section that loses emission, is slow to conduct or
 * gives less when it is cooler speaks of its tube as a low level that stands out does. Of one tube in one socket the newest soak that
 * could judge counts: what it no longer sees was mended.
 */

import type { DriftRow } from "../store/run-index/tables.ts";
import type { DriftInRun } from "../store/run-index/tube-rows.ts";
import type { SectionSighting } from "./tube-findings.ts";
import type { Stint } from "./tube-stints.ts";

/** A tube named by a soak only together with others, or for what is likelier a joint: told, and no weakness. */
export interface DriftMention {
  readonly serial: string;
  readonly unit: string;
  readonly position: string;
  readonly run: string;
  readonly text: string;
}

interface Laid {
  readonly stint: Stint;
  readonly row: DriftRow;
}

export function driftSightings(
  stints: readonly Stint[],
  judged: readonly DriftInRun[],
): { readonly sightings: readonly SectionSighting[]; readonly mentions: readonly DriftMention[] } {
  const laid = stints.flatMap((stint): Laid[] => {
    const newest = judged.findLast(({ run }) => stint.runs.includes(run));
    const rows = newest?.drifts.filter(({ position }) => position === stint.position) ?? [];
    return rows.map((row) => ({ stint, row }));
  });
  const isOwn = ({ row }: Laid) => isOfTube(row);
  return {
    sightings: laid.filter(isOwn).map(sightingOf),
    mentions: laid.filter((one) => !isOwn(one)).map(mentionOf),
  };
}

/** A jump is a joint before it is a tube, and a high level is set by load and leak. */
const OF_TUBE: ReadonlySet<DriftRow["kind"]> = new Set<DriftRow["kind"]>([
  "loses emission",
  "slow to conduct",
  "weak when cooler",
]);

function isOfTube({ kind, orElse }: DriftRow): boolean {
  return orElse === "" && OF_TUBE.has(kind);
}

function sightingOf({ stint, row }: Laid): SectionSighting {
  const { serial, unit, position } = stint;
  const { section, net, run, levelV } = row;
  return {
    serial,
    unit,
    position,
    section,
    net,
    run,
    lowV: levelV,
    z: null,
    units: 1,
    failed: false,
    weak: true,
    drift: driftText(row),
  };
}

function mentionOf({ stint, row }: Laid): DriftMention {
  const { serial, unit, position } = stint;
  const { run, section, orElse } = row;
  const others = orElse === "" ? "" : `; it may as well be ${orElse}`;
  return { serial, unit, position, run, text: `section ${section}, ${driftText(row)}${others}` };
}

function driftText({ kind, net, movedV, hours, ownSd }: DriftRow): string {
  const mv = `${movedV < 0 ? "" : "+"}${Number((1000 * movedV).toPrecision(2))} mV`;
  const sure = `${ownSd.toFixed(1)} standard deviations`;
  switch (kind) {
    case "loses emission":
      return `${net} low drifted ${mv} in ${hours.toFixed(1)} h of soak (${sure})`;
    case "slow to conduct":
      return `${net} low stood ${mv} at first after standing still (${sure})`;
    case "weak when cooler":
      return `${net} low rose ${mv} with the heaters low (${sure})`;
    case "level step":
      return `${net} low jumped ${mv} in a soak (${sure}): a joint before a tube`;
    case "high level falls":
      return `${net} high moved ${mv} in ${hours.toFixed(1)} h of soak (${sure}): load or leak before a tube`;
  }
}
