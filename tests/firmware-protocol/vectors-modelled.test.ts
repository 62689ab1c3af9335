/** The conformance vectors against the modelled controller, which knows PROTOCOL.md and no firmware. */
import { describe, it } from "vitest";
import { ModelledController } from "../../src/simulate/modelled/modelled-controller.ts";
import { createScriptedFixture } from "../simulate/scripted-fixture.ts";
import { loadVectors, runVector, type VectorTarget } from "./vector-runner.ts";

function modelledTarget(): VectorTarget {
  const fixture = createScriptedFixture();
  const controller = new ModelledController(fixture);
  return {
    write: (bytes) => controller.send(bytes),
    advance(ms) {
      const untilMs = controller.nowMs() + ms;
      const parts: Buffer[] = [];
      while (controller.nowMs() < untilMs) {
        controller.advance(untilMs);
        parts.push(controller.takeSent());
      }
      return Buffer.concat(parts).toString("latin1");
    },
    setCode: (channel, code) => void fixture.codes.set(channel, code),
    reset: (cause) => controller.reset(cause),
    outputs: () => fixture.mask(),
  };
}

describe("the modelled controller", () => {
  const files = loadVectors(new URL("../../firmware-protocol/vectors/", import.meta.url));
  for (const [file, vectors] of files) {
    for (const vector of vectors) {
      it(`${file}: ${vector.name} (${vector.rule})`, async () => {
        await runVector(vector, modelledTarget());
      });
    }
  }
});
