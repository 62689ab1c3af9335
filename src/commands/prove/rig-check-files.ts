/** The checks of a rig around a run: what the run names, and what a check of its own leaves behind. */
import type { ControllerIdentity } from "../../bench/bench.ts";
import type { RunEvent } from "../../events/events.ts";
import type { Plan } from "../../events/plan.ts";
import type { RigCheckName } from "../../events/rig-check.ts";
import { rigCheckClaim, withHum } from "../../plan/rig-check-claim.ts";
import {
  type FoundRigChecks,
  findRigChecks,
  keepRigCheck,
  nameOfCheck,
} from "../../store/rig-checks.ts";

/** What is kept of the plan's rig; files that cannot be read are said once, on standard error. */
export function checksOfRig({ rig, board }: Plan, runs: string): FoundRigChecks {
  const found = findRigChecks(runs, { rig: rig.name, board: board.name });
  for (const sentence of found.unreadable) process.stderr.write(`${sentence}\n`);
  return found;
}

export interface PlanOnCheckedRig {
  readonly plan: Plan;
  readonly newest: RigCheckName | null;
}

/** The plan with what the checks of its rig say. */
export function planOnCheckedRig(
  plan: Plan,
  found: FoundRigChecks,
  wall: string,
): PlanOnCheckedRig {
  const rigSha256 = rigHash(plan);
  const newest = found.full === null ? null : nameOfCheck(found.full, { wall, rigSha256 });
  const heard = found.newest?.check.rigSha256 === rigSha256 ? found.newest.check.facts.quiet : [];
  const humming = withHum(plan, heard);
  return { plan: { ...humming, claims: [...humming.claims, rigCheckClaim(newest)] }, newest };
}

export type RigChecked = Extract<RunEvent, { kind: "rig-checked" }>;

/** @returns the path of the file, or null after saying why there is none */
export function keepCheck(
  { facts, findings, fit }: RigChecked,
  made: {
    readonly plan: Plan;
    readonly runs: string;
    readonly run: string;
    readonly wall: string;
    readonly identity: ControllerIdentity;
  },
): string | null {
  const { plan, runs, run, wall, identity } = made;
  try {
    return keepRigCheck(runs, {
      rig: plan.rig.name,
      board: plan.board.name,
      rigSha256: rigHash(plan) ?? "",
      controller: { serial: identity.serial, firmware: identity.firmware },
      at: wall,
      run,
      fit,
      findings,
      facts,
    });
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    process.stderr.write(`The check could not be kept in ${runs}: ${why}\n`);
    return null;
  }
}

function rigHash({ sources }: Plan): string | null {
  return sources.find(({ role }) => role === "rig")?.sha256 ?? null;
}
