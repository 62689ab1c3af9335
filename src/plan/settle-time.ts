/** How long to wait between driving and reading. */
import type { Board } from "../formats/board.schema.ts";
import type { Rig } from "../formats/rig.schema.ts";
import { filterSettleMs } from "./divider-range.ts";
import { RELAY_SETTLE_MS } from "./fixed-wiring.ts";

/** Offered where the filters allow it; the shipped sequences wait as long. */
const SETTLE_MS = 100;

/** Least wait that contacts, filters and board need, whole milliseconds; without a rig the board alone. */
export function leastSettleMs(board: Board, rig: Rig | null): number {
  const filterMs = Math.max(0, ...(rig?.channels ?? []).map((channel) => filterSettleMs(channel)));
  return Math.ceil(Math.max(board.slowestTimeConstantMs, RELAY_SETTLE_MS + filterMs));
}

/** A wait with room to spare. */
export function usualSettleMs(board: Board, rig: Rig | null): number {
  return Math.max(SETTLE_MS, leastSettleMs(board, rig));
}

/** From heaters on until a section that is not warm fails: far longer than a triode takes (common practice). */
export function usualWarmUpMs(board: Board, steadyForMs: number): number {
  return Math.max(60_000, 2 * (board.heaterBeforePlateMs + steadyForMs));
}
