/** A soak as it was asked for, or one that goes on, given to the run. */
import type { ControllerBench } from "../../bench/controller-bench.ts";
import type { GoOnAfter } from "../../events/soak.ts";
import { type SoakOptions, startSoak } from "../../run/soak-run.ts";
import type { RunHandle } from "../../run/start-run.ts";
import { type BrokenOffSoak, causeOfBreak } from "./broken-off-soak.ts";
import type { ProofBench } from "./proof-bench.ts";
import type { RunFiles } from "./run-files.ts";
import { type SoakAsked, soakOrder } from "./soak-options.ts";

/** A soak that goes on, once the controller has told why it was broken off. */
export interface GoingOn {
  readonly soak: BrokenOffSoak;
  readonly why: GoOnAfter;
}

/**
 * Whether and after what a broken-off soak goes on.
 *
 * @param uptimeMs how long this computer has been up
 * @throws UsageError when it may not
 */
export async function goingOn(
  soak: BrokenOffSoak,
  controller: ControllerBench,
  now: { readonly uptimeMs: number; readonly wallMs: number },
): Promise<GoingOn> {
  const { resetCause, bootCount } = controller.identity;
  const isTripped = await controller.isTripped();
  const hostRestarted = now.uptimeMs < now.wallMs - soak.lastWallMs;
  return { soak, why: causeOfBreak(soak, { resetCause, bootCount, isTripped }, hostRestarted) };
}

interface SoakGiven {
  readonly asked: SoakAsked;
  readonly goingOn: GoingOn | null;
  readonly files: RunFiles;
  readonly bench: ProofBench;
  /** Told of a controller that was found again: it is the one to be closed in the end. */
  readonly onFound: (controller: ControllerBench) => void;
}

export function startAskedSoak(
  run: Omit<SoakOptions, "order" | "openedMs" | "resumed" | "findAgain" | "supplies">,
  { asked, goingOn: continued, files, bench, onFound }: SoakGiven,
): RunHandle {
  const { identity } = run.bench;
  const { findAgain } = bench;
  return startSoak({
    ...run,
    order: continued?.soak.order ?? soakOrder(asked, run.plan),
    openedMs: files.openedMs,
    supplies: bench.supplies,
    resumed:
      continued === null
        ? null
        : {
            folded: continued.soak.folded,
            why: continued.why,
            gapMs: files.gapMs ?? null,
            tornBytes: continued.soak.tornBytes,
          },
    findAgain:
      findAgain === null
        ? null
        : async (signal) => {
            const controller = await findAgain(identity, run.plan, signal);
            onFound(controller);
            return { bench: controller, isTripped: await controller.isTripped() };
          },
  });
}
