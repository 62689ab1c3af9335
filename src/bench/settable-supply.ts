/** A supply that can be told its volts: a programmable one, or a simulated one. */
import type { RailName } from "../events/levels.ts";

export interface SettableSupply {
  readonly rail: RailName;
  /**
   * Turn it to a share of the volts that it stands at by itself. Resolves when it was told, not when volts have moved:
   * whoever asks reads the rail.
   *
   * @param share above 0, at most 1
   * @throws what the supply refuses with
   */
  setShare(share: number): Promise<void>;
}
