/** A controller on a serial port as the bench of a run, and looking for it again when its link was lost. */
import { realpathSync } from "node:fs";
import { BenchError } from "../../bench/bench-error.ts";
import type { WireTrace } from "../../bench/controller-link.ts";
import { findPort, isPortId } from "../../bench/ports/find-port.ts";
import { knownPort } from "../../bench/ports/known-port.ts";
import { lockFolder } from "../../bench/ports/port-lock.ts";
import { wiringOfPlan } from "../../bench/wiring.ts";
import type { Clock } from "../../clock/clock.ts";
import { createRealClock } from "../../clock/real-clock.ts";
import { UsageError } from "../usage-error.ts";
import { type ProofBench, wireLogAt } from "./proof-bench.ts";

export async function openPort(
  path: string,
  rig: string,
  wireLog: string | null,
): Promise<ProofBench> {
  const clock = createRealClock({ scale: clockScale() });
  const log = wireLogAt(wireLog, clock);
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
    supplies: [],
    ...(log.trace === undefined ? {} : { trace: log.trace }),
    findAgain: await againOn(path, { clock, purpose: `a run on ${rig}`, trace: log.trace }),
    dispose: log.close,
  };
}

/** How long a pulled cable may stay out: as long as it takes to notice it at night is too long to wait. */
const FIND_AGAIN_MS = 10 * 60_000;

/** Looking for the controller that is on this port now, under whatever name it may come back. */
async function againOn(
  path: string,
  {
    clock,
    purpose,
    trace,
  }: {
    readonly clock: Clock;
    readonly purpose: string;
    readonly trace: WireTrace | undefined;
  },
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
      ...(trace === undefined ? {} : { trace }),
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
