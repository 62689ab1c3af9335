import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import { RecordFold } from "../../src/record/record-fold.ts";
import { recordLines } from "../../src/record/record-lines.ts";
import { healthyEvents } from "../journal/latch-run.ts";
import { entriesOf, night, order } from "./soak-night.ts";

const opened = healthyEvents.find((event) => event.kind === "run-opened");

function linesOf(legs: readonly (readonly RunEvent[])[]): string {
  const fold = new RecordFold();
  for (const entry of entriesOf(legs)) fold.take(entry);
  return recordLines(fold.record()).join("\n");
}

/** A soak's opening, before its first leg. */
function soaking(legs: readonly (readonly RunEvent[])[]): (readonly RunEvent[])[] {
  if (opened === undefined) throw new Error("The run has no opening.");
  const [first = [], ...others] = legs;
  return [[{ ...opened, mode: "soak", soak: order }, ...first], ...others];
}

describe("lines of a soak", () => {
  it("say what a night with errors allows to be claimed, and what they have in common", () => {
    const errors = [0, 1, 2, 3, 4].flatMap((leg) => [
      { leg, minute: 2, step: 3 },
      { leg, minute: 11, step: 3 },
    ]);
    expect(linesOf(soaking(night(errors)))).toContain(`
What this soak allows to be claimed
  36000 cycles judged, wrong at 10 separate times, in 10 h 0 min on power.
  Seen: 1 in 3600 cycles (95 % interval 1 in 1900 to 1 in 7500).
  With 95 % confidence fewer than 1 in 2100 cycles goes wrong, and it runs for
    longer than 35 min 22 s from one error to the next on average.
  Holds for unit FL-07, the 4 steps of this cycle, powered up 5 times,
    temperature not measured.
  It supposes that the rate stays as it is and that errors know nothing of
    each other. What was not cycled, and what happened between readings, is not
    in it.
  The soak did not reach its planned end; the bounds hold if what ended it had
    nothing to do with how the cycles came out.

What its wrong cycles have in common
  10 wrong cycles.
  10 of 10 came in the first 20 min 52 s after power-up, where 17 % of the
    cycles were; by chance 1 in 1300000.
  10 of 10 came in step hold (4), for which r moved, where 25 % of the
    readings were; by chance 1 in 22000.
  10 of 10 came right after r moved, where 50 % of the readings were; by
    chance 1 in 22.
  Looked at step, time since power-up, hour of the soak, lines that moved just
    before: 46 places in all, and the chances are corrected for that.
  Not looked at temperature: not measured.
  Not looked at repeats on the link: it was always the same.`);
  });

  it("are none for another kind of run, and say so where nothing was judged", () => {
    expect(linesOf([healthyEvents])).not.toMatch(/soak/i);
    expect(linesOf(soaking([]))).toMatch(/Nothing: no cycle was judged and sealed/);
  });
});
