/** The conformance vectors against the modelled controller, which knows PROTOCOL.md and no firmware. */
import { describe, it } from "vitest";
import { ModelledController } from "../../src/simulate/modelled/modelled-controller.ts";
import { createScriptedFixture } from "../simulate/scripted-fixture.ts";
import { loadVectors, runVector, simulatedTarget } from "./vector-runner.ts";

describe("the modelled controller", () => {
  const files = loadVectors(new URL("../../firmware-protocol/vectors/", import.meta.url));
  for (const [file, vectors] of files) {
    for (const vector of vectors) {
      it(`${file}: ${vector.name} (${vector.rule})`, async () => {
        const fixture = createScriptedFixture();
        const controller = new ModelledController(fixture);
        const target = simulatedTarget(controller, fixture, (cause) => controller.reset(cause));
        await runVector(vector, target);
      });
    }
  }
});
