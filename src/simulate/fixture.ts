/**
 * What the controller's pins meet outside the chip: relays, supplies, dividers, multiplexers and
 * the board. The emulated controller knows the world only through this.
 */
import type { RailName } from "../events/levels.ts";

/** A change of one part's value, at the start (atMs null) or at a moment of emulated time. */
export interface PartChange {
  /** Part name in the circuit or fixture, such as `V1a`, `R3`, `D2`, `lead.Q`, `supply.plate`. */
  readonly part: string;
  /** Parameter of that part, such as `ohm`, `emission`, `open`, `volts`. */
  readonly parameter: string;
  readonly value: number;
  readonly atMs: number | null;
}

/** Steps of the ten-bit converter, either way, that still count as standing still: noise and hum of a sound lead. */
export const QUIET_STEPS = 2;

export interface Fixture {
  /** Relay driver outputs as driven by the pins: bit i set means output i + 1 is driven on. */
  setOutputs(mask: number, atMs: number): void;
  /** Volts at converter pin 0..7 while the multiplexer address lines carry 0..7. */
  pinVolts(pin: number, muxAddress: number, atMs: number): number;
  /** Whether the coil supply is present; without it every relay releases. */
  setCoilSupply(present: boolean, atMs: number): void;
  change(change: PartChange, atMs: number): void;
  /** True volts of the rails on the board side, for the bench's own log. */
  railVolts(atMs: number): Readonly<Record<RailName, number>>;
  /**
   * Until when pins 0..5, the rail channels, stay within `QUIET_STEPS` of the converter of where they stand
   * at atMs, what was called at atMs included, unless setOutputs, setCoilSupply or change is called; Infinity for as long as nothing is called, and
   * atMs itself or missing where nothing can be said. A controller then need not look at every scan.
   *
   * Who answers more than atMs answers `pinVolts` of these pins also for moments that have passed, as they were then or
   * within the same steps of it, whatever was switched since: a scan that was passed over is asked for later, with
   * the moment at which it was taken.
   */
  quietUntilMs?(atMs: number): number;
  /** True volts of every net of the board by name. */
  nodeVolts(atMs: number): Readonly<Record<string, number>>;
}
