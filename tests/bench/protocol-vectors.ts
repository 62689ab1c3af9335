/**
 * Every conformance vector against every implementation: the firmware on the emulated chip, built for this machine, and on
 * libsimavr; the modelled controller; and a port, behind which the bench is served. Needs make, gcc and libsimavr.
 */
import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { createEmulatedController } from "../../src/simulate/emulated-controller.ts";
import { ModelledController } from "../../src/simulate/modelled/modelled-controller.ts";
import { fitsPort, PortTarget } from "../firmware-protocol/port-target.ts";
import { ProcessTarget } from "../firmware-protocol/process-target.ts";
import {
  loadVectors,
  runVector,
  simulatedTarget,
  type Vector,
  type VectorTarget,
} from "../firmware-protocol/vector-runner.ts";
import { createScriptedFixture } from "../simulate/scripted-fixture.ts";
import type { FigureContext } from "./figure.ts";

const root = resolve(import.meta.dirname, "../..");
const firmware = join(root, "firmware-protocol/firmware");
const VECTORS_MIN = 150;

interface Implementation {
  readonly name: string;
  readonly fits: (vector: Vector) => boolean;
  readonly open: () => Promise<VectorTarget> | VectorTarget;
  readonly close: (target: VectorTarget) => Promise<void> | void;
}

export async function figure({ report, say }: FigureContext): Promise<void> {
  execFileSync("make", ["-s", "-C", firmware, "host", "simavr"], { stdio: ["ignore", 2, 2] });
  const vectors = [
    ...loadVectors(new URL("../../firmware-protocol/vectors/", import.meta.url)),
  ].flatMap(([, ofFile]) => ofFile);
  report({
    name: "protocol-vectors number",
    value: vectors.length,
    unit: "vectors",
    limit: `>= ${VECTORS_MIN}`,
    holds: vectors.length >= VECTORS_MIN,
  });
  const served = await servedPort();
  try {
    for (const implementation of implementations(served.path)) {
      const mine = vectors.filter(implementation.fits);
      const failed: string[] = [];
      for (const vector of mine) {
        const target = await implementation.open();
        try {
          await runVector(vector, target);
        } catch (error) {
          failed.push(error instanceof Error ? error.message : String(error));
        } finally {
          await implementation.close(target);
        }
      }
      for (const message of failed) say(`${implementation.name}: ${message}`);
      report({
        name: `protocol-vectors agreeing, ${implementation.name}`,
        value: mine.length - failed.length,
        unit: `of ${mine.length}, ${vectors.length - mine.length} it cannot do left out`,
        limit: `= ${mine.length}`,
        holds: failed.length === 0,
      });
    }
  } finally {
    served.stop();
  }
}

function implementations(path: string): Implementation[] {
  const hexText = readFileSync(join(firmware, "holdfast.hex"), "utf8");
  const cannot = JSON.parse(
    readFileSync(join(root, "tests/firmware-protocol/simavr-cannot.json"), "utf8"),
  ) as { readonly vectors: Readonly<Record<string, string>> };
  const all = () => true;
  const ended = (target: VectorTarget) => {
    if (target instanceof ProcessTarget) target.close();
  };
  return [
    {
      name: "firmware on the emulated chip",
      fits: all,
      open: () => {
        const fixture = createScriptedFixture();
        const controller = createEmulatedController({ fixture, hexText, seed: 1 });
        return simulatedTarget(controller, fixture, (cause) => {
          if (cause !== "POR") return controller.chip.reset(cause);
          controller.setSupply(false);
          controller.setSupply(true);
        });
      },
      close: ended,
    },
    {
      name: "modelled controller",
      fits: all,
      open: () => {
        const fixture = createScriptedFixture();
        const controller = new ModelledController(fixture);
        return simulatedTarget(controller, fixture, (cause) => controller.reset(cause));
      },
      close: ended,
    },
    {
      name: "host build of the firmware",
      fits: all,
      open: () => new ProcessTarget(join(firmware, "build/holdfast-host")),
      close: ended,
    },
    {
      name: "firmware on libsimavr",
      fits: ({ name }) => !(name in cannot.vectors),
      open: () =>
        new ProcessTarget(join(firmware, "build/holdfast-simavr"), [
          join(firmware, "holdfast.hex"),
        ]),
      close: ended,
    },
    {
      name: "a port, with the bench served behind it",
      fits: fitsPort,
      open: () => PortTarget.open(path),
      close: (target) => (target instanceof PortTarget ? target.close() : undefined),
    },
  ];
}

async function servedPort(): Promise<{ path: string; stop(): void }> {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-vectors-"));
  const path = join(folder, "bench");
  const program = ["--import", "tsx", "src/main.ts", "serve-bench"];
  const server = spawn(process.execPath, [...program, "--link", path, "--stop-with-input"], {
    cwd: root,
    stdio: ["pipe", "pipe", "inherit"],
  });
  for await (const line of createInterface({ input: server.stdout })) {
    if (line.includes("bench on")) break;
  }
  return {
    path,
    stop: () => {
      server.kill("SIGKILL");
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
