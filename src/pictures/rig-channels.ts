/** The channels by which a rig knows itself, for pictures, lists and words. */
import type { Rig } from "../formats/rig.schema.ts";
import { ohms } from "../plan/quantity-words.ts";

/** A channel as it is drawn: what hangs between its lead and its pin. */
export interface WiredChannel {
  readonly name: string;
  readonly channel: number;
  readonly topOhm: number;
  /** Null for a channel without a divider. */
  readonly bottomOhm: number | null;
  readonly pullUpOhm?: number | undefined;
  readonly capacitorNf: number;
}

export interface RigOwnChannel extends WiredChannel {
  /** What hangs on its lead. */
  readonly words: string;
}

/** Those the rig has, by their number. */
export function rigOwnChannels({ reference, temperature, ground }: Rig): RigOwnChannel[] {
  const channels: RigOwnChannel[] = [];
  if (reference !== undefined) {
    const { volts, percent, sourceOhm, ...wired } = reference;
    const words = `a reference of ${volts} V within ${percent} % behind ${ohms(sourceOhm)}`;
    channels.push({ name: "reference", topOhm: sourceOhm, bottomOhm: null, ...wired, words });
  }
  if (temperature !== undefined) {
    const { zeroMv, mvPerK, sourceOhm, ...wired } = temperature;
    const words = `a temperature sensor, ${zeroMv} mV at 0 degrees C and ${mvPerK} mV a kelvin`;
    channels.push({ name: "temperature", topOhm: sourceOhm, bottomOhm: null, ...wired, words });
  }
  if (ground !== undefined) {
    channels.push({ name: "ground", ...ground, words: "the board's common" });
  }
  return channels.sort((one, other) => one.channel - other.channel);
}

/** One line for each. */
export function rigOwnWords(rig: Rig): string[] {
  return rigOwnChannels(rig).map(
    ({ name, channel, words }) => `${name}: ${words}, channel ${channel}`,
  );
}
