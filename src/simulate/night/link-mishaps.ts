/** What befalls the link of a modelled bench in a night, by its scenario. */
import type { Scenario } from "../../formats/scenario.schema.ts";
import type { ModelledBench } from "../modelled-bench.ts";
import { appointWhen } from "./night-events.ts";
import { RareMoments } from "./wander.ts";

/** Several cycles' worth. */
const LINES = 64;

/** Appoint every mishap of the link on the bench's own clock. */
export function appointLinkMishaps(scenario: Scenario, bench: ModelledBench): void {
  const { clock, link } = bench;
  const appoint = (atS: number, happen: (atS: number) => void): void => {
    clock.setTimeout(() => happen(atS), Math.max(0, 1000 * atS - clock.nowMs()));
  };
  for (const [index, mishap] of scenario.link.entries()) {
    const which = new RareMoments(scenario.seed, `line ${index}`);
    const happen = (atS: number): void => {
      // The line right after a moment is mostly the one that a pause goes before: any of some is as likely.
      if (mishap.mishap === "lost line") link.loseLine(which.below(LINES));
      else if (mishap.mishap === "spoiled line") link.spoilLine(which.below(LINES));
      else if (mishap.mishap === "controller reset") link.reset("EXT");
      else if (mishap.mishap === "unplugged") {
        link.unplug();
        appoint(atS + mishap.forS, () => link.plugIn());
      }
    };
    appointWhen(mishap, new RareMoments(scenario.seed, `link ${index}`), { appoint, happen });
  }
}
