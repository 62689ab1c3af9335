/** The channels by which a rig knows itself: which of a plan's they are, and what their volts say. */
import type { PlannedChannel } from "../events/plan.ts";

type ReadsOf<Kind> = Extract<PlannedChannel["reads"], { readonly kind: Kind }>;

/** A channel that reads the rig itself, with what it reads. */
export interface OwnChannel<Kind> {
  readonly channel: PlannedChannel;
  readonly reads: ReadsOf<Kind>;
}

/** @returns null where the rig has no such channel */
export function ownChannel<Kind extends "reference" | "temperature" | "ground">(
  channels: readonly PlannedChannel[],
  kind: Kind,
): OwnChannel<Kind> | null {
  const isOwn = (reads: PlannedChannel["reads"]): reads is ReadsOf<Kind> => reads.kind === kind;
  for (const channel of channels) {
    if (isOwn(channel.reads)) return { channel, reads: channel.reads };
  }
  return null;
}

/** Degrees Celsius for the volts of a sensor that rise in a line. */
export function celsiusOf(volts: number, { zeroV, voltsPerK }: ReadsOf<"temperature">): number {
  return (volts - zeroV) / voltsPerK;
}
