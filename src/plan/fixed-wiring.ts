/**
 * What the controller's own wiring fixes (firmware-protocol/PROTOCOL.md section 3). Polarity and
 * order live in the controller, so a rig cannot choose other outputs or channels for its rails.
 */
import type { RailName } from "../events/levels.ts";

export const FIXED_RAIL_WIRING: Readonly<
  Record<RailName, { readonly output: number; readonly source: number; readonly board: number }>
> = {
  heater: { output: 1, source: 1, board: 2 },
  bias: { output: 2, source: 3, board: 4 },
  plate: { output: 3, source: 5, board: 6 },
};

/** Outputs that switch lines and loads. */
export const LINE_OUTPUTS = { first: 4, last: 8 } as const;

/** Channels behind the two multiplexers, for nets and lines. */
export const NET_CHANNELS = { first: 7, last: 22 } as const;

/** Full scale of the 10-bit converter; a reading of this code may be anything above: clipped. */
export const CODE_MAX = 1023;

/** Steps of the converter over its reference. */
export const CODE_COUNT = 1024;

/**
 * Longest time from a relay's command until its contact has operated and stopped bouncing, ms:
 * small power relays state about 10 ms operate and a few ms of bounce.
 */
export const RELAY_SETTLE_MS = 15;
