/** Words of the history that several answers share. */
import { uncertaintyText, voltsText } from "../../measure/volts-text.ts";
import type { LeastRoom, ListedRun } from "../../store/run-index/runs-of.ts";
import type { RunRow } from "../../store/run-index/tables.ts";

/** `2026-05-02 10:00`, as the clock of that bench said. */
export function momentText(opened: string): string {
  return `${opened.slice(0, 10)} ${opened.slice(11, 16)}`;
}

const HOUR_MS = 3_600_000;

/** `0.04 h`, `12.3 h`, `1204 h`: tube hours are counted, not clocked. */
export function hoursText(ms: number): string {
  const hours = ms / HOUR_MS;
  if (hours >= 100) return `${Math.round(hours)} h`;
  return `${hours.toFixed(hours >= 10 ? 1 : 2)} h`;
}

/** `Q low 2.43 V (U 0.23)` */
export function roomText(room: LeastRoom | null): string {
  if (room === null) return "";
  const { channel, expected, marginV, expandedV } = room;
  const known = expandedV === null ? "" : ` (U ${uncertaintyText(expandedV)})`;
  return `${channel} ${expected} ${voltsText(marginV)}${known}`;
}

/** The verdict, or why there is none to rely on. */
export function outcomeText({ seal, mode, verdict }: RunRow): string {
  if (seal === "not closed") return `not closed, ${verdict} so far`;
  return mode === "hand" ? "by hand" : verdict;
}

export function soakText({ soak }: Pick<ListedRun, "soak">): string {
  if (soak === null) return "";
  const { cycles, wrong, boardMs, powerCycles } = soak;
  const powered = powerCycles === 1 ? "once" : `${powerCycles} times`;
  return `${cycles} cycles, ${wrong} wrong, ${hoursText(boardMs)} on, powered ${powered}`;
}

/** `+0.39 V`, so that a fall cannot be taken for a rise. */
export function changeText(volts: number): string {
  const text = voltsText(volts);
  return text.startsWith("-") ? text : `+${text}`;
}
