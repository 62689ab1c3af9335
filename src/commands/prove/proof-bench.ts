/** The bench behind a run: a simulated one in this process, or a controller on a serial port. */
import type { ControllerIdentity } from "../../bench/bench.ts";
import type { ControllerBench } from "../../bench/controller-bench.ts";
import type { WireTrace } from "../../bench/controller-link.ts";
import type { ControllerPort } from "../../bench/controller-port.ts";
import type { SettableSupply } from "../../bench/settable-supply.ts";
import { openWireLog } from "../../bench/wire-log.ts";
import type { Clock } from "../../clock/clock.ts";
import type { Plan } from "../../events/plan.ts";
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
  /** Supplies of the bench that can be told their volts; none where people turn them. */
  readonly supplies: readonly SettableSupply[];
  /** Takes every line of the wire, where that was asked for. */
  readonly trace?: WireTrace;
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

/** The time of a run's files: that of a simulated bench stands still while a disk works. */
export function timeOf({ clock, seed }: Pick<ProofBench, "clock" | "seed">): {
  clock: Clock;
  isReal: boolean;
} {
  return { clock, isReal: seed === null };
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
  if (port !== null) {
    const { openPort } = await import("./port-bench.ts");
    return openPort(port, proof.plan.rig.name, options.wireLog);
  }
  const { openEmulated, openModelled } = await import("./simulated-bench.ts");
  return options.modelled ? openModelled(options, proof) : openEmulated(options, proof);
}

/** A log of the wire at a path that was asked for, and how it is closed. @throws UsageError */
export function wireLogAt(
  path: string | null,
  clock: Clock,
): { readonly trace?: WireTrace; close(): void } {
  if (path === null) return { close: () => undefined };
  try {
    const onFault = (message: string): void => void process.stderr.write(`holdfast: ${message}\n`);
    return openWireLog({ path, clock, onFault });
  } catch (error) {
    throw new UsageError(`Expected a file for --wire-log that can be written, got: ${error}.`);
  }
}
