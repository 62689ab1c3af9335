/** The conformance vectors against the committed firmware binary on the emulated chip. */
import { readFileSync } from "node:fs";
import { describe, it } from "vitest";
import { createEmulatedController } from "../../src/simulate/emulated-controller.ts";
import { createScriptedFixture } from "../simulate/scripted-fixture.ts";
import { loadVectors, runVector, type VectorTarget } from "./vector-runner.ts";

const hexText = readFileSync(
  new URL("../../firmware-protocol/firmware/holdfast.hex", import.meta.url),
  "utf8",
);

function emulatedTarget(): VectorTarget {
  const fixture = createScriptedFixture();
  const controller = createEmulatedController({ fixture, hexText, seed: 1 });
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
    reset(cause) {
      if (cause === "POR") {
        controller.setSupply(false);
        controller.setSupply(true);
      } else {
        controller.chip.reset(cause);
      }
    },
    outputs: () => fixture.mask(),
  };
}

describe("firmware on the emulated chip", () => {
  const files = loadVectors(new URL("../../firmware-protocol/vectors/", import.meta.url));
  for (const [file, vectors] of files) {
    for (const vector of vectors) {
      it(`${file}: ${vector.name} (${vector.rule})`, async () => {
        await runVector(vector, emulatedTarget());
      });
    }
  }
});
