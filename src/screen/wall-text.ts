/** When something was, by the wall clock of whoever ran it: what a person asks for in the morning. */
import type { RunSnapshot } from "../journal/snapshot.ts";
import { clockText } from "./duration-text.ts";

const MINUTE_MS = 60_000;

/** `03:12`; with the day, `28 Nov 03:12`, where that is not the day on which the run began. */
export function whenText(wall: string, { opened }: Pick<RunSnapshot, "opened">): string {
  const isSameDay = opened === null || opened.wall.slice(0, 10) === wall.slice(0, 10);
  return isSameDay ? clockOf(wall) : `${dayOf(wall)} ${clockOf(wall)}`;
}

/** `03:12` on the wall when the run's own clock stood at `ms`; null where nothing tells. */
export function wallClockAt(ms: number, { opened, soak }: RunSnapshot): string | null {
  const leg = soak?.legs.findLast(({ beganMs }) => beganMs <= ms);
  const wall = leg?.wall ?? opened?.wall;
  if (wall === undefined) return null;
  // Hours and minutes as they are written there, whatever that place's offset is.
  const began = Date.parse(`${wall.slice(0, 23)}Z`);
  if (Number.isNaN(began)) return null;
  const at = began + ms - (leg?.beganMs ?? 0);
  return clockOf(new Date(Math.floor(at / MINUTE_MS) * MINUTE_MS).toISOString());
}

/** When a line of the log was: by the wall in a soak, that lasts a night; else since the run began. */
export function logClock(ms: number, snapshot: RunSnapshot): string {
  const wall = snapshot.soak === undefined ? null : wallClockAt(ms, snapshot);
  return wall ?? clockText(ms);
}

function clockOf(wall: string): string {
  return wall.slice(11, 16);
}

const MONTHS = [..."JanFebMarAprMayJunJulAugSepOctNovDec".matchAll(/.{3}/g)].map(([name]) => name);

function dayOf(wall: string): string {
  return `${Number(wall.slice(8, 10))} ${MONTHS[Number(wall.slice(5, 7)) - 1] ?? ""}`;
}
