/** The bench behind a proof: the emulated one in this process, or a controller on a serial port. */
import { realpathSync } from "node:fs";
import type { ControllerIdentity } from "../../bench/bench.ts";
import { BenchError } from "../../bench/bench-error.ts";
import type { ControllerBench } from "../../bench/controller-bench.ts";
import type { ControllerPort } from "../../bench/controller-port.ts";
import { findPort, isPortId } from "../../bench/ports/find-port.ts";
import { knownPort } from "../../bench/ports/known-port.ts";
import { lockFolder } from "../../bench/ports/port-lock.ts";
import { wiringOfPlan } from "../../bench/wiring.ts";
import type { Clock } from "../../clock/clock.ts";
import { createRealClock } from "../../clock/real-clock.ts";
import type { Plan } from "../../events/plan.ts";
import type { PartChange } from "../../simulate/fixture.ts";
import { firmwareText, openFixture } from "../emulated-fixture.ts";
import type { Proof } from "../proof-folder.ts";
import { UsageError } from "../usage-error.ts";
import type { ProveOptions } from "./prove-options.ts";

export interface ProofBench {
  /** How the bench is called in the record. */
  readonly name: string;
  readonly port: ControllerPort;
  /** Time of the bench: everything in the run waits on it. */
  readonly clock: Clock;
  /** Seed of the emulated bench; null for a real one. */
  readonly seed: number | null;
  /** Let the bench's time run; until then an emulated bench stands still. */
  release(): void;
  /** Keep an emulated bench's time standing while the host reads files. Returns the way to go on. */
  hold(): () => void;
  /** While a person has the board in hand an emulated bench lives as fast as the person does. */
  keepRealTime(keep: boolean): void;
  /** A simulated hand on a point of the board; null on a real bench, where a person has two. */
  readonly touch: ((point: string, on: boolean) => void) | null;
  /** A simulated bench supply on the lead of a channel, or the lead back in its place; null on a real bench. */
  readonly clip: ((channel: string, volts: number | null) => void) | null;
  /**
   * Look for the same controller again after its link was lost, for a bounded time; null where there is
   * nothing to look for.
   *
   * @throws BenchError link-lost with what was tried; the signal's reason
   */
  readonly findAgain:
    | ((identity: ControllerIdentity, plan: Plan, signal: AbortSignal) => Promise<ControllerBench>)
    | null;
  dispose(): void;
}

/** Which port a proof uses: the one named on the command line, else the rig's; null is emulated. */
export function portOf(options: ProveOptions, proof: Proof): string | null {
  if (options.port !== null) return options.port;
  return proof.rig.bench.kind === "port" ? proof.rig.bench.port : null;
}

/**
 * @throws BenchError when the port cannot be opened
 * @throws UsageError when an emulated bench cannot be built as asked
 */
export async function openProofBench(options: ProveOptions, proof: Proof): Promise<ProofBench> {
  const port = portOf(options, proof);
  if (port !== null) return openPort(port, proof.plan.rig.name);
  return options.modelled ? openModelled(options, proof) : openEmulated(options, proof);
}

async function openPort(path: string, rig: string): Promise<ProofBench> {
  const clock = createRealClock({ scale: clockScale() });
  const { openSerialPort } = await import("../../bench/serial-port.ts");
  const port = await openSerialPort(path, {
    clock,
    purpose: `a run on ${rig}`,
    lockFolder: lockFolder(process.env),
  });
  return {
    name: path,
    port,
    clock,
    seed: null,
    release: () => undefined,
    hold: () => () => undefined,
    keepRealTime: () => undefined,
    touch: null,
    clip: null,
    findAgain: await againOn(path, { clock, purpose: `a run on ${rig}` }),
    dispose: () => undefined,
  };
}

/** How long a pulled cable may stay out: as long as it takes to notice it at night is too long to wait. */
const FIND_AGAIN_MS = 10 * 60_000;

/** Looking for the controller that is on this port now, under whatever name it may come back. */
async function againOn(
  path: string,
  { clock, purpose }: { readonly clock: Clock; readonly purpose: string },
): Promise<ProofBench["findAgain"]> {
  const { listPorts } = await import("../../bench/ports/list-ports.ts");
  const ports = await listPorts();
  const device = isPortId(path) ? findPort(path, ports) : realpathSync(path);
  const known = knownPort(path, device, ports);
  return async (identity, plan, signal) => {
    const { findControllerAgain } = await import("../../bench/find-controller-again.ts");
    const { openSerialPort } = await import("../../bench/serial-port.ts");
    const found = await findControllerAgain({
      identity,
      port: known,
      wiring: wiringOfPlan(plan),
      clock,
      limitMs: FIND_AGAIN_MS,
      signal,
      listPorts,
      openPort: (at) => openSerialPort(at, { clock, purpose, lockFolder: lockFolder(process.env) }),
    });
    if (found.isFound) return found.controller;
    throw new BenchError("link-lost", {
      port: path,
      reason: found.tried.join(" ") || "no port came back",
    });
  };
}

async function openEmulated(options: ProveOptions, proof: Proof): Promise<ProofBench> {
  const { seed, faults } = options;
  const fixture = await openFixture(proof, { seed, faults });
  const { openEmulatedBench } = await import("../../simulate/emulated-bench.ts");
  const bench = openEmulatedBench({
    fixture,
    hexText: firmwareText(),
    paceRatio: options.pace,
    seed,
  });
  // Files are still read and the screen still loads: none of that may take emulated time.
  const release = bench.clock.hold();
  return {
    name: bench.port.name,
    port: bench.port,
    clock: bench.clock,
    seed,
    release,
    hold: () => bench.clock.hold(),
    clip: (channel, volts) => bench.controls.change(clipped(channel, volts)),
    touch: (point, on) =>
      bench.controls.change({
        part: `touch.${point}`,
        parameter: "on",
        value: on ? 1 : 0,
        atMs: null,
      }),
    // A pace that was asked for stands.
    keepRealTime: (keep) => bench.clock.setPace(options.pace ?? (keep ? 1 : null)),
    findAgain: null,
    dispose: () => bench.dispose(),
  };
}

async function openModelled(options: ProveOptions, proof: Proof): Promise<ProofBench> {
  const { seed, faults } = options;
  const fixture = await openFixture(proof, { seed, faults });
  const { openModelledBench } = await import("../../simulate/modelled-bench.ts");
  const bench = openModelledBench({ fixture, paceRatio: options.pace });
  const release = bench.clock.hold();
  return {
    name: bench.port.name,
    port: bench.port,
    clock: bench.clock,
    seed,
    release,
    hold: () => bench.clock.hold(),
    clip: (channel, volts) => bench.change(clipped(channel, volts)),
    touch: (point, on) =>
      bench.change({
        part: `touch.${point}`,
        parameter: "on",
        value: on ? 1 : 0,
        atMs: null,
      }),
    keepRealTime: (keep) => bench.clock.setPace(options.pace ?? (keep ? 1 : null)),
    findAgain: null,
    dispose: () => bench.dispose(),
  };
}

function clipped(channel: string, volts: number | null): PartChange {
  const part = `calibrator.${channel}`;
  return volts === null
    ? { part, parameter: "off", value: 1, atMs: null }
    : { part, parameter: "volts", value: volts, atMs: null };
}

/** A bench served at `--pace 10` lives ten times as fast; the host's clock has to do the same. */
function clockScale(): number {
  const text = process.env["HOLDFAST_CLOCK_SCALE"];
  if (text === undefined || text === "") return 1;
  const scale = Number(text);
  if (!Number.isFinite(scale) || scale <= 0) {
    throw new UsageError(`Expected HOLDFAST_CLOCK_SCALE as a number above 0, got "${text}".`);
  }
  return scale;
}
