/** A made night as a soak of the lamp flasher latch would write it, from its opening to its last full set. */
import type {
  ChannelReading,
  JudgedReading,
  RunEvent,
  UnitSheet,
} from "../../src/events/events.ts";
import type { TaughtBefore } from "../../src/events/unit-history.ts";
import type { DriftSet } from "../../src/verdict/drift/drift-set.ts";
import { type MadeNight, madeNight } from "../verdict/drift/made-night.ts";
import { closed, opened, powerDown } from "./latch-run.ts";
import { soakOpening, type TimedEvent, tally } from "./soak-events.ts";

const HOUR_MS = 3_600_000;

export interface SoakedUnit {
  readonly unit?: string;
  readonly sheet?: UnitSheet;
  readonly taught?: TaughtBefore;
  /** Whether it came to its end; else it is still cycling. */
  readonly isOver?: boolean;
}

export function sheetWith(serial: string, unit = "FL-07"): UnitSheet {
  return { unit, tubes: [{ position: "V1", tube: "ECC82", serial }], coldChecks: [] };
}

export function driftingSoak(night: MadeNight, soaked: SoakedUnit = {}): TimedEvent[] {
  if (opened.kind !== "run-opened") throw new TypeError("a run begins with its opening");
  const { unit = "FL-07", sheet, taught, isOver = true } = soaked;
  const at = (ms: number) => (event: RunEvent) => ({ ms, event });
  const sets = madeNight(night).map((set) => ({
    ms: Math.round(HOUR_MS * set.onHours),
    event: setEvent(set),
  }));
  const endMs = sets.at(-1)?.ms ?? 0;
  const cycles = Math.round(endMs / 500);
  const [first, ...warming] = soakOpening({ cycles });
  if (first?.event.kind !== "run-opened") throw new TypeError("a soak begins with its opening");
  const opening: TimedEvent = {
    ...first,
    event: {
      ...first.event,
      unit,
      ...(sheet === undefined ? {} : { unitSheet: sheet }),
      ...(taught === undefined ? {} : { taught }),
    },
  };
  const ends: RunEvent[] = [
    { kind: "leg-ended", leg: 1, cause: "completed", detail: "", provedOff: true },
    ...powerDown,
    closed("pass"),
  ];
  const counted = tally({ n: cycles, wrong: 0, notKept: 0, highV: 43.7, cyclingMs: endMs });
  return [opening, ...warming, ...sets, at(endMs)(counted), ...(isOver ? ends.map(at(endMs)) : [])];
}

function setEvent(set: DriftSet): RunEvent {
  const { moment, referenceV, celsius } = set;
  const steps = [...new Set(set.readings.map(({ step }) => step))].map((step) => ({
    step,
    readings: set.readings
      .filter((one) => one.step === step)
      .map(
        ({ net, class: expected, volts }): JudgedReading => ({
          ...reading(net, volts),
          class: expected,
          expected,
          result: "pass",
          reason: "as expected",
          limitV: null,
          marginV: null,
        }),
      ),
  }));
  return {
    kind: "soak-readings",
    set: set.set,
    cycle: set.set,
    moment,
    onMs: Math.round(HOUR_MS * set.onHours),
    steps,
    rails: Object.entries(set.rails).map(([rail, volts]) => reading(`${rail}.board`, volts)),
    referenceV,
    celsius,
  };
}

function reading(channel: string, volts: number | null): ChannelReading {
  return {
    channel,
    volts,
    noReading: volts === null ? "torn" : null,
    sum: 0,
    count: 0,
    min: 0,
    max: 0,
  };
}
