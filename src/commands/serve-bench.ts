/** `holdfast serve-bench`: a simulated bench as a process of its own, behind a pseudo-terminal. */

import type { PartChange } from "../simulate/fixture.ts";
import type { ServedController } from "../simulate/serve/served-controller.ts";
import { readFault, readPace, readSeed } from "./bench-options.ts";
import { firmwareText, openFixture } from "./emulated-fixture.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import type { Proof } from "./proof-folder.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { UsageError } from "./usage-error.ts";

export interface ServeOptions {
  readonly folder: string;
  readonly pace: number;
  readonly seed: number;
  readonly powered: "bus" | "separate";
  readonly linkPath: string | null;
  readonly logPath: string | null;
  readonly stopWithInput: boolean;
  /** A model of the controller instead of its firmware. */
  readonly modelled: boolean;
  readonly faults: readonly PartChange[];
}

export interface RawServeOptions {
  readonly pace: string;
  readonly seed: string;
  readonly powered: string;
  readonly link?: string;
  readonly log?: string;
  readonly stopWithInput?: boolean;
  readonly modelled?: boolean;
  readonly fault?: readonly string[];
}

/** @throws UsageError in one sentence */
export function readServeOptions(folder: string, raw: RawServeOptions): ServeOptions {
  const { powered } = raw;
  if (powered !== "bus" && powered !== "separate") {
    throw new UsageError(`Expected --powered as bus or separate, got "${powered}".`);
  }
  return {
    folder,
    pace: readPace(raw.pace),
    seed: readSeed(raw.seed),
    powered,
    linkPath: raw.link ?? null,
    logPath: raw.log ?? null,
    stopWithInput: raw.stopWithInput === true,
    modelled: raw.modelled === true,
    faults: (raw.fault ?? []).map(readFault),
  };
}

/**
 * Serve until a signal, a `quit` on standard input, or its end when that was asked for. The path
 * of the terminal is printed when it is ready, and again after each plugging.
 */
export async function serveBenchCommand(options: ServeOptions): Promise<ExitStatus> {
  const proof = await proofOrProblems(options.folder);
  if (proof === null) return EXIT.wrongUsage;
  const { linkPath, logPath, pace, powered } = options;
  const controller = await controllerFor(proof, options);
  const { serveBench } = await import("../simulate/serve/serve-bench.ts");
  const bench = serveBench({
    controller,
    pace,
    powered,
    ...(linkPath === null ? {} : { linkPath }),
    ...(logPath === null ? {} : { logPath }),
    controls: process.stdin,
    stopWhenControlsEnd: options.stopWithInput,
    onReady: (path) => process.stdout.write(`bench on ${linkPath ?? path}\n`),
    onRefused: (message) => process.stderr.write(`holdfast: ${message}\n`),
  });
  for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) {
    process.on(signal, () => bench.stop());
  }
  await bench.stopped;
  return EXIT.pass;
}

async function controllerFor(
  proof: Proof,
  { modelled, seed, faults }: ServeOptions,
): Promise<ServedController> {
  if (modelled) {
    const { createServedModelled } = await import("../simulate/serve/served-modelled.ts");
    return createServedModelled(await openFixture(proof, { seed, faults, night: null }));
  }
  const { createEmulatedController } = await import("../simulate/emulated-controller.ts");
  const fixture = await openFixture(proof, { seed, faults });
  return createEmulatedController({ fixture, hexText: firmwareText(), seed });
}
