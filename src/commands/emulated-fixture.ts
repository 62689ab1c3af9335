/** The simulated fixture of a proof's circuit and rig, with faults checked before anything runs. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import type { Fixture, PartChange } from "../simulate/fixture.ts";
import { packageFolder } from "./package-folder.ts";
import type { Proof } from "./proof-folder.ts";
import { UsageError } from "./usage-error.ts";

/** The firmware as it is flashed, Intel HEX. */
export function firmwareText(): string {
  return readFileSync(join(packageFolder, "firmware-protocol/firmware/holdfast.hex"), "latin1");
}

/**
 * @throws UsageError when the proof has no circuit, or a fault names a part or value it has not
 */
export async function openFixture(
  proof: Proof,
  { seed, faults }: { readonly seed: number; readonly faults: readonly PartChange[] },
): Promise<Fixture> {
  const { circuit, rig } = proof;
  if (circuit === null) {
    throw new UsageError(
      `Expected a rig with an emulated bench, got rig "${rig.rig}", which names the port ` +
        "of a real one. Name another folder.",
    );
  }
  const { createFixture } = await import("../simulate/fixture/create-fixture.ts");
  const boardAbsent = proof.plan.connector === "empty";
  const build = (changes: readonly PartChange[]): Fixture =>
    createFixture({ circuit, rig, seed, changes, boardAbsent });
  try {
    // A fault for later is tried now, so that a wrong name cannot surface in the middle of a run.
    build(faults.map((fault) => ({ ...fault, atMs: null })));
  } catch (error) {
    if (error instanceof RangeError) throw new UsageError(`--fault: ${error.message}`);
    throw error;
  }
  return build(faults);
}
