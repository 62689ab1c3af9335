/** The conformance vectors against the committed firmware binary on the emulated chip. */
import { readFileSync } from "node:fs";
import { describe, it } from "vitest";
import { createEmulatedController } from "../../src/simulate/emulated-controller.ts";
import { createScriptedFixture } from "../simulate/scripted-fixture.ts";
import { loadVectors, runVector, simulatedTarget } from "./vector-runner.ts";

const hexText = readFileSync(
  new URL("../../firmware-protocol/firmware/holdfast.hex", import.meta.url),
  "utf8",
);

describe("firmware on the emulated chip", () => {
  const files = loadVectors(new URL("../../firmware-protocol/vectors/", import.meta.url));
  for (const [file, vectors] of files) {
    for (const vector of vectors) {
      it(`${file}: ${vector.name} (${vector.rule})`, async () => {
        const fixture = createScriptedFixture();
        const controller = createEmulatedController({ fixture, hexText, seed: 1 });
        const target = simulatedTarget(controller, fixture, (cause) => {
          if (cause !== "POR") return controller.chip.reset(cause);
          controller.setSupply(false);
          controller.setSupply(true);
        });
        await runVector(vector, target);
      });
    }
  }
});
