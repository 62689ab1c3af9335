/** What a stop of a walk means on the way and at its end: pulses, races with their ends, loops that never rest. */
import type { Circuit } from "../netlist/circuit.ts";
import { type SettlingFinding, settlingFindings } from "../ternary/findings.ts";
import { settle } from "../ternary/settle.ts";
import { HIGH, LOW, UNKNOWN } from "../ternary/values.ts";
import type { Walked } from "./walk.ts";

export interface StopFindings {
  /** Nets that may pulse although they end where they were. */
  readonly mayPulse: readonly string[];
  /** Feedback that ends unknown by this step, and why. */
  readonly loops: readonly SettlingFinding[];
}

/**
 * Settled from what all ways to the stop agree on: where they do not, the net counts as unknown, and a loop that
 * was unknown before is no finding of this step.
 */
export function stopFindings(circuit: Circuit, { stop, before }: Walked): StopFindings {
  const inputs = Array.from(circuit.inputs, (net) => {
    const level = stop.set[circuit.nets[net] ?? ""];
    if (level === undefined) return before[net] ?? UNKNOWN;
    return level === "high" ? HIGH : LOW;
  });
  const findings = settlingFindings(circuit, settle(circuit, before, inputs));
  return {
    mayPulse: findings.flatMap(({ kind, nets }) => (kind === "static hazard" ? nets : [])),
    loops: findings.filter(({ kind }) => kind !== "static hazard" && kind !== "unknown before"),
  };
}
