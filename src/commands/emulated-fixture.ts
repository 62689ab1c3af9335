/** The simulated fixture of a proof's circuit and rig, with faults checked before anything runs. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import type { Scenario } from "../formats/scenario.schema.ts";
import type { FixtureOptions } from "../simulate/fixture/create-fixture.ts";
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
  asked: {
    readonly seed: number;
    readonly faults: readonly PartChange[];
    /** For nights: settled states are kept instead of solving everything; what befalls the bench, or nothing. */
    readonly night?: Scenario | null;
  },
): Promise<Fixture> {
  const { seed, faults, night } = asked;
  const { circuit, rig } = proof;
  if (circuit === null) {
    throw new UsageError(
      `Expected a rig with an emulated bench, got rig "${rig.rig}", which names the port ` +
        "of a real one. Name another folder.",
    );
  }
  const create = night === undefined ? await fullFixture() : await quickFixture(night);
  const boardAbsent = proof.plan.connector === "empty";
  const build = (changes: readonly PartChange[]): Fixture =>
    create({ circuit, rig, seed, changes, boardAbsent });
  try {
    // A fault for later is tried now, so that a wrong name cannot surface in the middle of a run.
    build(faults.map((fault) => ({ ...fault, atMs: null })));
  } catch (error) {
    if (error instanceof RangeError) throw new UsageError(`--fault: ${error.message}`);
    throw error;
  }
  return build(faults);
}

type CreateFixture = (options: FixtureOptions) => Fixture;

async function fullFixture(): Promise<CreateFixture> {
  const { createFixture } = await import("../simulate/fixture/create-fixture.ts");
  return createFixture;
}

async function quickFixture(night: Scenario | null): Promise<CreateFixture> {
  const { createQuickFixture } = await import("../simulate/quick/quick-fixture.ts");
  return (options) =>
    createQuickFixture({ ...options, ...(night === null ? {} : { scenario: night }) });
}
