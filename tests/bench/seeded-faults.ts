/** The first two boards under every fault: all of the latch, a share of the divider's. */
import { faultCampaign } from "./fault-campaign.ts";
import type { FigureContext } from "./figure.ts";

export function figure(context: FigureContext): Promise<void> {
  return faultCampaign(context, {
    name: "seeded-faults",
    boards: ["flasher-latch", "fog-divider"],
    whole: ["flasher-latch"],
    oneIn: 8,
    seeds: 10,
  });
}
