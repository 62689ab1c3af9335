/**
 * A fixture for tests of the client on the real firmware: each converter pin has the volts that the
 * test gives it, rails follow their relays at once.
 */
import type { RailName } from "../../src/events/levels.ts";
import type { Fixture } from "../../src/simulate/fixture.ts";

export interface ScriptedFixture extends Fixture {
  /** Outputs as the pins drive them: bit 0 is output 1. */
  readonly mask: number;
  /** Volts at the pin of channel 1..22, while the relay of a rail channel's rail is closed. */
  readonly volts: Map<number, number>;
}

const RELEASED_V = 0.1;

export function scriptedFixture(): ScriptedFixture {
  let mask = 0;
  const volts = new Map<number, number>();
  for (let channel = 1; channel <= 22; channel += 1) volts.set(channel, 0.2 * channel);
  const railOn = (output: number) => (mask >> (output - 1)) & 1;
  return {
    get mask() {
      return mask;
    },
    volts,
    setOutputs(next) {
      mask = next;
    },
    pinVolts(pin, muxAddress) {
      const channel = pin < 6 ? pin + 1 : (pin === 6 ? 7 : 15) + muxAddress;
      const isBoardSide = channel === 2 || channel === 4 || channel === 6;
      if (isBoardSide && !railOn(channel / 2)) return RELEASED_V;
      return volts.get(channel) ?? 0;
    },
    setCoilSupply: () => undefined,
    change: () => undefined,
    railVolts: (): Readonly<Record<RailName, number>> => ({ heater: 0, bias: 0, plate: 0 }),
    nodeVolts: () => ({}),
  };
}

/** Code of a 10-bit converter at a 5 V reference: Vin * 1024 / Vref (ATmega328P data sheet, ADC result). */
export function codeOf(volts: number): number {
  return Math.floor((volts / 5) * 1024);
}
