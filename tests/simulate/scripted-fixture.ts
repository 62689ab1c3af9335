/** A fixture without electricity: the test says what each channel reads and sees what is switched. */
import type { Fixture, PartChange } from "../../src/simulate/fixture.ts";

const REFERENCE_V = 5;

export interface ScriptedFixture extends Fixture {
  /** Raw code of each channel, by channel number of PROTOCOL.md section 3; 0 when not set. */
  readonly codes: Map<number, number>;
  readonly outputs: { readonly mask: number; readonly atMs: number }[];
  readonly coilSupply: boolean[];
  readonly changes: { readonly change: PartChange; readonly atMs: number }[];
  volts: Record<"heater" | "bias" | "plate", number>;
  mask(): number;
}

/** Channel of PROTOCOL.md section 3 that a converter pin reads at a multiplexer address. */
function channelOf(pin: number, muxAddress: number): number {
  if (pin < 6) {
    return pin + 1;
  }
  return (pin === 6 ? 7 : 15) + muxAddress;
}

export function createScriptedFixture(): ScriptedFixture {
  const fixture: ScriptedFixture = {
    codes: new Map(),
    outputs: [],
    coilSupply: [],
    changes: [],
    volts: { heater: 0, bias: 0, plate: 0 },
    mask: () => fixture.outputs.at(-1)?.mask ?? 0,
    setOutputs: (mask, atMs) => void fixture.outputs.push({ mask, atMs }),
    // The middle of the code's step, so that rounding cannot decide.
    pinVolts: (pin, muxAddress) =>
      (((fixture.codes.get(channelOf(pin, muxAddress)) ?? 0) + 0.5) * REFERENCE_V) / 1024,
    setCoilSupply: (present) => void fixture.coilSupply.push(present),
    change: (change, atMs) => void fixture.changes.push({ change, atMs }),
    railVolts: () => ({ ...fixture.volts }),
    nodeVolts: () => ({}),
  };
  return fixture;
}
