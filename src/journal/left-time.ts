/** How long a run may still take: an estimate for the person, used for nothing else. */
import type { Phase } from "../events/events.ts";
import type { Plan } from "../events/plan.ts";
import { type FoldedRun, stepLengthMs } from "./account.ts";
import type { SoakSnapshot } from "./soak-snapshot.ts";

/** Small receiving tubes with 6.3 V or 12.6 V heaters are steady some 11 to 15 s from heaters on. */
const WARM_UP_TYPICAL_MS = 15_000;
/** A warm-up that takes longer than is typical is shown as nearly done until it ends or times out. */
const WARM_UP_LEFT_MIN_MS = 1_000;

/** How long these last is the person's choice. */
const BY_PERSON: ReadonlySet<Phase> = new Set<Phase>(["by hand", "frozen", "standby"]);

/** Estimated ms left; null before the plan is known, 0 once the run has ended. */
export function leftMsOf(run: FoldedRun): number | null {
  const { plan, phase } = run;
  if (plan === null) {
    return null;
  }
  if (phase === "ended") {
    return 0;
  }
  if (BY_PERSON.has(phase)) return null;
  if (run.soak !== undefined) return soakLeftMs(run.soak);
  const fallMs = Math.max(0, ...plan.rails.map(({ fallMsMax }) => fallMsMax));
  if (phase === "powering down") {
    return fallMs;
  }
  return Math.round(warmUpLeftMs(run, plan) + stepsLeftMs(run, plan) + fallMs);
}

/** What the order asks for less what is sealed; by count it is the pace that tells. */
function soakLeftMs({ order, counts }: SoakSnapshot): number | null {
  const byTime = order.forMs === null ? null : order.forMs - counts.cyclingMs;
  const paceMs = counts.cycles === 0 ? order.everyMs : counts.cyclingMs / counts.cycles;
  const byCount =
    order.cycles === null || paceMs === 0 ? null : (order.cycles - counts.cycles) * paceMs;
  const left = [byTime, byCount].filter((one) => one !== null);
  return left.length === 0 ? null : Math.max(0, Math.round(Math.min(...left)));
}

function warmUpLeftMs({ account, ms }: FoldedRun, plan: Plan): number {
  if (account.warm) {
    return 0;
  }
  const typicalMs = Math.min(
    plan.warmUp.timeoutMs,
    Math.max(WARM_UP_TYPICAL_MS, plan.warmUp.heaterBeforePlateMs) + plan.warmUp.steadyForMs,
  );
  const elapsedMs = account.heatersOnMs === null ? 0 : ms - account.heatersOnMs;
  return Math.max(WARM_UP_LEFT_MIN_MS, typicalMs - elapsedMs);
}

function stepsLeftMs({ account, hold }: FoldedRun, plan: Plan): number {
  const wholeMs = plan.steps.reduce((sum, step) => sum + stepLengthMs(step), 0);
  if (wholeMs === 0) {
    return 0;
  }
  const begun = plan.steps[hold?.step ?? -1];
  const beforeFlipMs = begun?.kind === "hold" && hold?.part === "flip" ? begun.forMs : 0;
  const heldMs = hold === null ? 0 : beforeFlipMs + hold.elapsedMs;
  const share = plan.estimatedPassMs / wholeMs;
  return Math.max(0, account.stepsLeftMs - heldMs) * share;
}
