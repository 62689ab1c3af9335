/** Safety judged from the bench's own log of pins and volts, never from what the host says. */
import type { BenchLogEntry } from "../../../src/simulate/bench-log.ts";

export interface RailLimits {
  readonly plateSafeV: number;
  readonly biasLowV: number;
  readonly biasHighV: number;
  /** Magnitude at or below which each rail is off, and the longest it may take to fall. */
  readonly off: Readonly<Record<"heater" | "bias" | "plate", { safeV: number; fallMs: number }>>;
}

export interface Witness {
  readonly entries: readonly BenchLogEntry[];
  /** Bench time at which the end was brought about. */
  readonly actMs: number;
  readonly limits: RailLimits;
}

/** Dead-man at most, with the controller's own order (DESIGN: 1 s), and what pacing may add. */
const DEAD_MAN_MS = 1000;
const PACING_MS = 500;

/** @returns what is unsafe in what the bench saw, in words; empty when nothing is */
export function unsafeIn({ entries, actMs, limits }: Witness): string[] {
  const found: string[] = [];
  let worstPlate: { ms: number; plate: number; bias: number } | null = null;
  const lastOn = { heater: actMs, bias: actMs, plate: actMs };
  let last: BenchLogEntry | null = null;
  for (const entry of entries) {
    if (entry.kind !== "volts") continue;
    last = entry;
    const { heater, bias, plate } = entry.rails;
    const biasOut = bias < limits.biasLowV || bias > limits.biasHighV;
    if (biasOut && plate > limits.plateSafeV && plate > (worstPlate?.plate ?? 0)) {
      worstPlate = { ms: entry.ms, plate, bias };
    }
    if (Math.abs(heater) > limits.off.heater.safeV) lastOn.heater = entry.ms;
    if (Math.abs(bias) > limits.off.bias.safeV) lastOn.bias = entry.ms;
    if (Math.abs(plate) > limits.off.plate.safeV) lastOn.plate = entry.ms;
  }
  if (worstPlate !== null) {
    found.push(
      `plate ${worstPlate.plate} V while bias ${worstPlate.bias} V at ${Math.round(worstPlate.ms)} ms`,
    );
  }
  // The host takes plate, bias and heater down one after the other and proves each fall.
  let allowedMs = DEAD_MAN_MS + PACING_MS;
  for (const rail of ["plate", "bias", "heater"] as const) {
    allowedMs += limits.off[rail].fallMs;
    const tookMs = lastOn[rail] - actMs;
    if (tookMs > allowedMs) found.push(`${rail} on ${Math.round(tookMs)} ms after the end`);
    if (last?.kind === "volts" && Math.abs(last.rails[rail]) > limits.off[rail].safeV) {
      found.push(`${rail} still at ${last.rails[rail]} V when watching ended`);
    }
  }
  return found;
}
