/** The plan of a full rig check: the same rig with nothing on its connector but the loop-back plug. */
import type { Plan } from "../events/plan.ts";

const CAUTION =
  "The board must be off its connector: nothing there, or the loop-back plug alone. The pins carry every rail while it is checked.";
const CLAIM =
  "nothing on the connector: a rail falls at once, and off is believed because its lead read it right before";

/** Heaters that are not there draw nothing, and no step is walked; limits, gates and trips stay. */
export function emptyConnectorPlan(plan: Plan): Plan {
  return {
    ...plan,
    connector: "empty",
    rails: plan.rails.map(({ current: _, ...rail }) => rail),
    steps: [],
    claims: [CLAIM],
    cautions: [CAUTION, ...plan.cautions],
    estimatedPassMs: 0,
  };
}
