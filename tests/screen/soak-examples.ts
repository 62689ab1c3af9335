/** Moments of soaks, folded from events as a run would write them. */
import type { RunEvent } from "../../src/events/events.ts";
import { foldEvent, initialSnapshot } from "../../src/journal/fold.ts";
import type { RunSnapshot } from "../../src/journal/snapshot.ts";
import { driftingSoak, sheetWith } from "../journal/drifting-soak.ts";
import { fall, powerDown } from "../journal/latch-run.ts";
import { soakEvents, type TimedEvent } from "../journal/soak-events.ts";

function folded(events: Iterable<TimedEvent>): RunSnapshot {
  let run = initialSnapshot();
  let n = 0;
  for (const { ms, event } of events) {
    run = foldEvent(run, { n, ms, before: "", event });
    n += 1;
  }
  return run;
}

function upTo(events: readonly TimedEvent[], last: (event: RunEvent) => boolean): TimedEvent[] {
  return events.slice(0, events.findLastIndex(({ event }) => last(event)) + 1);
}

const isTally = (event: RunEvent): boolean => event.kind === "soak-tally";
const quiet = [...soakEvents({ cycles: 7200, wrongEvery: 0, driftV: 0 })];
const wrong = [...soakEvents({ cycles: 7200, wrongEvery: 5000, driftV: 0 })];
const often = [...soakEvents({ cycles: 7200, wrongEvery: 300, driftV: 0 })];

/** A link that was lost, and the leg after it. */
function wentOn(): TimedEvent[] {
  const until = upTo(wrong, isTally);
  const ms = until.at(-1)?.ms ?? 0;
  const ended = { leg: 1, cause: "link lost", detail: "no reply", provedOff: false } as const;
  const begun = { leg: 2, why: "link lost", gapMs: 95_000, tornBytes: 0 } as const;
  return [
    ...until,
    { ms, event: { kind: "leg-ended", ...ended } },
    {
      ms: ms + 95_000,
      event: { kind: "leg-begun", ...begun, wall: "2026-05-02T11:03:12.000+00:00" },
    },
    { ms: ms + 95_100, event: { kind: "phase", phase: "heating" } },
  ];
}

/** The cable out, and nothing known of the rails but that the controller switches them off by itself. */
function linkLost(): TimedEvent[] {
  const until = upTo(quiet, isTally);
  const ms = until.at(-1)?.ms ?? 0;
  const falls = (["plate", "bias", "heater"] as const).map((name) => ({
    ms,
    event: fall(name, "unproved"),
  }));
  const ended = { leg: 1, cause: "link lost", detail: "no reply", provedOff: false } as const;
  return [
    ...until,
    ...falls,
    { ms, event: { kind: "leg-ended", ...ended } },
    { ms, event: { kind: "phase", phase: "power off" } },
  ];
}

const weak = { seed: "weak", loss: { V1b: 0.05 } };
const sheet = sheetWith("LV-T031");

/** Between two legs of power cycles: every rail proved off, and coming on again by itself. */
function restingOff(): TimedEvent[] {
  const until = upTo(quiet, isTally);
  const ms = until.at(-1)?.ms ?? 0;
  const ended = { leg: 1, cause: "power cycle", detail: "", provedOff: true } as const;
  return [
    ...until,
    ...powerDown.map((event) => ({ ms, event })),
    { ms, event: { kind: "leg-ended", ...ended } },
    { ms, event: { kind: "phase", phase: "power off" } },
  ];
}

export const soakExamples: Readonly<Record<string, RunSnapshot>> = {
  "soak-right": folded(upTo(quiet, isTally)),
  "soak-wrong": folded(upTo(wrong, isTally)),
  "soak-often-wrong": folded(upTo(often, isTally)),
  "soak-went-on": folded(wentOn()),
  "soak-ended": folded(wrong),
  "soak-power-off": folded(restingOff()),
  "soak-link-lost": folded(linkLost()),
  "soak-drift": folded(driftingSoak(weak, { sheet, isOver: false })),
  "soak-drift-ended": folded(driftingSoak(weak, { sheet })),
  "soak-no-drift": folded(driftingSoak({ seed: "sound" }, { isOver: false })),
};
