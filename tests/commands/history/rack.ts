/** Journals of a small rack: latches with tubes and serials, proved on days that follow each other. */
import type { RunEvent } from "../../../src/events/events.ts";
import { guardedEvents } from "../../journal/guarded-run.ts";
import { healthyEvents } from "../../journal/latch-run.ts";
import type { RunsFolder } from "./runs-folder.ts";

export interface Proved {
  /** Day of May 2026. */
  readonly day: number;
  readonly unit: string;
  readonly serial: string;
  /** Low level of both nets, volts; their limit is 14 V. */
  readonly lowV: number;
  /** Whether the rig knows how well it reads; U of Q low is then 0.4 V. */
  readonly evaluated?: boolean;
}

/** @returns the name of the run */
export function prove(runs: RunsFolder, proved: Proved): string {
  const date = `2026-05-${String(proved.day).padStart(2, "0")}`;
  const run = `${date}-100000-flasher-latch`;
  runs.put(run, eventsOf(proved, date));
  return run;
}

function eventsOf({ unit, serial, lowV, evaluated = true }: Proved, date: string): RunEvent[] {
  const events = evaluated ? guardedEvents(lowV, "pass") : healthyEvents;
  return events.map((event) => {
    if (event.kind === "run-closed") return { ...event, wall: `${date}T10:03:00.000+00:00` };
    if (event.kind !== "run-opened") return event;
    return {
      ...event,
      unit,
      unitSheet: { unit, tubes: [{ position: "V1", tube: "ECC82", serial }], coldChecks: [] },
      bench: "/dev/ttyUSB0",
      wall: `${date}T10:00:00.000+00:00`,
    };
  });
}
