/** A reference meter of the emulated bench: off by as much as such a meter may be, the same way each time. */
import { spreadFactor } from "./circuit/seeded-random.ts";

export interface BenchMeterFacts {
  readonly seed: number;
  /** What it may be off, of the reading and in volts, half-widths. */
  readonly part: number;
  readonly volts: number;
  /** One step of its last digit, volts. */
  readonly digitV: number;
}

/** Volts as it shows them. */
export function benchMeter({
  seed,
  part,
  volts,
  digitV,
}: BenchMeterFacts): (trueV: number) => number {
  const name = "reference meter";
  const scale = spreadFactor(part, { seed, name, purpose: "scale" });
  const shift = volts * (spreadFactor(1, { seed, name, purpose: "shift" }) - 1);
  return (trueV) => Number((Math.round((trueV * scale + shift) / digitV) * digitV).toFixed(9));
}
