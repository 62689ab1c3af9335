/** The machines of a run put together with the work behind them. */
import { fromCallback, fromPromise } from "xstate";
import type { EndCause } from "../events/events.ts";
import type { Verdict } from "../events/levels.ts";
import { bringSafe, type SafeOutcome } from "./bring-safe.ts";
import { byHandActors } from "./by-hand.actors.ts";
import type { RunConduct } from "./conduct.ts";
import { hearController } from "./controller-events.ts";
import type { Ending } from "./ending.ts";
import { freezeActors } from "./freeze.actors.ts";
import { holdActors } from "./hold.actors.ts";
import { holdMachine } from "./hold.machine.ts";
import { passActors } from "./pass.actors.ts";
import { passMachine } from "./pass.machine.ts";
import { powerActors } from "./power.actors.ts";
import { powerMachine } from "./power.machine.ts";
import { rigCheckActors } from "./rig-check.actors.ts";
import { type RunMachineEvent, runMachine } from "./run.machine.ts";
import type { RunParts } from "./run-parts.ts";
import { soakActors } from "./soak.actors.ts";
import { standbyActors } from "./standby.actors.ts";
import { supervisionActors } from "./supervision.actors.ts";
import { supervisionMachine } from "./supervision.machine.ts";
import { warmUpActors } from "./warm-up.actors.ts";
import { warmUpMachine } from "./warm-up.machine.ts";

/** The machines of a run with all their work. */
export function provideRun(
  parts: RunParts,
  conduct: RunConduct,
  verdictWith: (cause: EndCause) => Verdict,
) {
  const hold = holdMachine.provide({ actors: holdActors(parts) });
  return runMachine.provide({
    actors: {
      hearController: fromCallback<RunMachineEvent>(({ sendBack }) =>
        hearController(parts, sendBack),
      ),
      supervise: supervisionMachine.provide({ actors: supervisionActors(parts) }),
      power: powerMachine.provide({ actors: powerActors(parts) }),
      warmUp: warmUpMachine.provide({ actors: warmUpActors(parts) }),
      pass: passMachine.provide({ actors: { ...passActors(parts), hold } }),
      ...rigCheckActors(parts),
      ...byHandActors(parts, conduct),
      ...soakActors(parts, conduct),
      ...freezeActors(parts, conduct),
      ...standbyActors(parts, conduct, verdictWith),
      powerDown: fromPromise<SafeOutcome, { ending: Ending }>(({ input: { ending: why } }) => {
        const descent = bringSafe(parts, why.detail);
        if (why.fault !== null) {
          parts.scribe.write({ kind: "fault", message: why.detail, ...why.fault });
        }
        return descent;
      }),
    },
  });
}
