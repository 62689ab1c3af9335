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
import { fitsPort, runOnPort } from "../firmware-protocol/port-target.ts";
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
  /** Runs it took; throws when it does not hold. */
  readonly run: (vector: Vector) => Promise<number>;
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
      let repeated = 0;
      for (const vector of mine) {
        try {
          repeated += (await implementation.run(vector)) - 1;
        } catch (error) {
          failed.push(error instanceof Error ? error.message : String(error));
        }
      }
      for (const message of failed) say(`${implementation.name}: ${message}`);
      report({
        name: `protocol-vectors agreeing, ${implementation.name}`,
        value: mine.length - failed.length,
        unit: `of ${mine.length}, ${vectors.length - mine.length} it cannot do left out${repeated > 0 ? `, ${repeated} runs repeated, late on this machine` : ""}`,
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
  return [
    {
      name: "firmware on the emulated chip",
      fits: all,
      run: (vector) => {
        const fixture = createScriptedFixture();
        const controller = createEmulatedController({ fixture, hexText, seed: 1 });
        return once(
          vector,
          simulatedTarget(controller, fixture, (cause) => {
            if (cause !== "POR") return controller.chip.reset(cause);
            controller.setSupply(false);
            controller.setSupply(true);
          }),
        );
      },
    },
    {
      name: "modelled controller",
      fits: all,
      run: (vector) => {
        const fixture = createScriptedFixture();
        const controller = new ModelledController(fixture);
        return once(
          vector,
          simulatedTarget(controller, fixture, (cause) => controller.reset(cause)),
        );
      },
    },
    {
      name: "host build of the firmware",
      fits: all,
      run: (vector) => once(vector, new ProcessTarget(join(firmware, "build/holdfast-host"))),
    },
    {
      name: "firmware on libsimavr",
      fits: ({ name }) => !(name in cannot.vectors),
      run: (vector) =>
        once(
          vector,
          new ProcessTarget(join(firmware, "build/holdfast-simavr"), [
            join(firmware, "holdfast.hex"),
          ]),
        ),
    },
    {
      name: "a port, with the bench served behind it",
      fits: fitsPort,
      run: (vector) => runOnPort(vector, path),
    },
  ];
}

/** Where time is virtual, whatever fails once is wrong. */
async function once(vector: Vector, target: VectorTarget): Promise<number> {
  try {
    await runVector(vector, target);
    return 1;
  } finally {
    if (target instanceof ProcessTarget) target.close();
  }
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
