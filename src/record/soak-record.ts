/** What a record holds of a soak: counts, legs, errors by kind, what moved, and what may be claimed. */

import type { SoakCounts, SoakOrder } from "../events/soak.ts";
import type { FoldedRun } from "../journal/account.ts";
import { driftSoFar } from "../journal/drift-so-far.ts";
import type { ErrorKind, LegSnapshot } from "../journal/soak-snapshot.ts";
import { clusterWords } from "../verdict/cluster-words.ts";
import { couldSeeWords, findingWords, remarkWords } from "../verdict/drift/drift-words.ts";
import type { DriftFinding, DriftReport } from "../verdict/drift/report.ts";
import { linkCoincidence } from "../verdict/link-coincidence.ts";
import { linkWords } from "../verdict/link-words.ts";
import { claimWords } from "../verdict/soak-claim-words.ts";
import { linkUseOf } from "./link-use.ts";
import type { SoakFindingsFold } from "./soak-findings-fold.ts";
import { withoutPaths } from "./without-paths.ts";

export interface SoakRecord {
  readonly order: Omit<SoakOrder, "cycle">;
  readonly counts: SoakCounts;
  readonly legs: readonly (Pick<LegSnapshot, "leg" | "why" | "wall" | "gapMs" | "tornBytes"> & {
    /** Null where it never ended. */
    readonly cause: string | null;
    readonly provedOff: boolean | null;
  })[];
  /** Legs beyond those listed: a night of power cycles has hundreds. */
  readonly legsLeftOut: number;
  readonly kinds: readonly (Pick<
    ErrorKind,
    "net" | "step" | "class" | "cycles" | "times" | "longest"
  > & {
    readonly name: string;
    readonly first: Pick<ErrorKind["first"], "cycle" | "wall" | "volts">;
    readonly last: Pick<ErrorKind["last"], "cycle" | "wall" | "volts">;
  })[];
  /** Full sets of readings. */
  readonly sets: number;
  readonly drift: {
    readonly judged: boolean;
    readonly findings: readonly string[];
    readonly remarks: readonly string[];
    /** What would have been seen, and what was not looked at. */
    readonly couldSee: readonly string[];
  };
  readonly claims: readonly string[];
  readonly clusters: readonly string[];
  /** Of the link to the controller; missing in older records. */
  readonly link?: readonly string[] | undefined;
}

const LEGS_MAX = 50;
const KINDS_MAX = 100;

/** Undefined for a run that is no soak. */
export function soakRecord(
  run: FoldedRun,
  findings: SoakFindingsFold | null,
): SoakRecord | undefined {
  const { soak, opened, cause } = run;
  if (soak === undefined || findings === null) return undefined;
  const { cycle, ...order } = soak.order;
  const { claim, clusters } = findings.findings(soak, { unit: opened?.unit ?? null, cause });
  const report = driftSoFar(run);
  return {
    order,
    counts: soak.counts,
    legs: legsTold(soak.legs).map(({ leg, why, wall, gapMs, tornBytes, end }) => ({
      leg,
      why,
      wall,
      gapMs,
      tornBytes,
      cause: end === null ? null : withoutPaths(end.cause),
      provedOff: end?.provedOff ?? null,
    })),
    legsLeftOut: soak.legs.length - legsTold(soak.legs).length,
    kinds: soak.kinds.slice(0, KINDS_MAX).map((kind) => {
      const { net, step, class: how, cycles, times, longest, first, last } = kind;
      const name = cycle[step]?.name ?? `step ${step + 1}`;
      return {
        net,
        step,
        name,
        class: how,
        cycles,
        times,
        longest,
        first: { cycle: first.cycle, wall: first.wall, volts: first.volts },
        last: { cycle: last.cycle, wall: last.wall, volts: last.volts },
      };
    }),
    sets: soak.sets,
    drift: {
      judged: report?.judged ?? false,
      findings: report === null ? [] : report.findings.map((one) => findingText(one, report)),
      remarks: (report?.remarks ?? []).map(remarkWords),
      couldSee:
        report === null ? ["drift not judged: no full set was taken"] : couldSeeWords(report),
    },
    claims: claim === null ? ["Nothing: no cycle was judged and sealed."] : claimWords(claim),
    clusters: clusterWords(clusters),
    link: linkWords(linkCoincidence(linkUseOf(soak))),
  };
}

function findingText(finding: DriftFinding, report: DriftReport): string {
  const { claim, sure, rests, otherwise, next } = findingWords(finding, report);
  return `${claim}. How sure: ${sure}. Rests on ${rests}. Else: ${otherwise}. Next: ${next}.`;
}

/** Those that say more than that power was cycled, and the first. */
function legsTold(legs: readonly LegSnapshot[]): readonly LegSnapshot[] {
  return legs
    .filter(({ why, end }) => why !== "power cycle" || end?.provedOff !== true)
    .slice(0, LEGS_MAX);
}
