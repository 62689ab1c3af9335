/** Volts a driven line stands at, against the level contract. */
import type { Rig, RigOutput } from "../formats/rig.schema.ts";
import { loadedVolts } from "./divider-range.ts";
import { channelName } from "./proof-documents.ts";

/** A line counts as driven at a contract level when it is this near to it, as a fraction of it. */
export const CONTRACT_DRIVE_FRACTION = 0.02;

export type ChangeoverOutput = Extract<RigOutput, { drive: "changeover" }>;

/** Volts of a line in one position of its contact, loaded by the divider that reads it back. */
export function drivenVolts(
  rig: Rig,
  output: ChangeoverOutput,
  position: "released" | "operated",
): number {
  const { sourceV, sourceOhm } = output[position];
  const reader = rig.channels.find((channel) => channelName(channel) === output.line);
  return loadedVolts(sourceV, sourceOhm, reader ?? null);
}
