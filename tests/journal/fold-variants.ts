/** Folding variants of the healthy run. */
import type { RunEvent } from "../../src/events/events.ts";
import type { FoldedRun } from "../../src/journal/account.ts";
import { foldJournal } from "../../src/journal/fold.ts";
import { healthyEvents, healthyUpTo, powerDown } from "./latch-run.ts";
import { writeRun } from "./write-run.ts";

/** The run after these events, through the real writer. */
export function fold(events: readonly RunEvent[]): FoldedRun {
  return foldJournal(writeRun(events).entries);
}

/** The healthy run with each event put through `change`; undefined takes it out. */
export function changed(change: (event: RunEvent) => RunEvent | undefined): RunEvent[] {
  return healthyEvents.flatMap((event) => change(event) ?? []);
}

/** The healthy run without events of this kind. */
export function without(kind: RunEvent["kind"], picked: (event: RunEvent) => boolean = () => true) {
  return changed((event) => (event.kind === kind && picked(event) ? undefined : event));
}

/** The healthy run up to `kind` (its `skip`th), then these events, power-down and the close. */
export function broken(
  kind: RunEvent["kind"],
  then: readonly RunEvent[],
  close: RunEvent,
): RunEvent[] {
  return [...healthyUpTo((event) => event.kind === kind), ...then, ...powerDown, close];
}
