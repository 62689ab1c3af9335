import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import type { Verdict } from "../../src/events/levels.ts";
import { verdictAtEnd } from "../../src/journal/account.ts";
import { noReading } from "../../src/measure/reading.ts";
import { judgeReading } from "../../src/verdict/judge.ts";
import { broken, changed, fold, without } from "./fold-variants.ts";
import {
  closed,
  fall,
  healthyEvents,
  healthyUpTo,
  judgedLine,
  judgedNet,
  latchPlan,
  reading,
} from "./latch-run.ts";

describe("the verdict of a run", () => {
  const lowShort = judgedNet("Q", "low", 15.2);
  const failing: RunEvent = {
    kind: "reading",
    step: 0,
    part: "pattern",
    readings: [lowShort, judgedNet("QN", "high", 44.8)],
  };
  const tripped: RunEvent = {
    kind: "controller-event",
    event: "tripped",
    detail: "",
    channel: "plate.board",
    volts: 52.1,
  };

  const outsideWindow = [
    ["bias", -20.4],
    ["bias", -27],
    ["plate", 44.9],
    ["plate", 50.6],
  ] as const;
  const seenAt = (rail: string, volts: number): RunEvent => ({
    kind: "watch",
    readings: [reading(`${rail}.board`, volts)],
  });

  it.each<[string, Verdict, RunEvent[]]>([
    [
      "fails by one margin that is short",
      "fail",
      broken(
        "step-begun",
        [failing, { kind: "step-ended", step: 1, result: "fail" }],
        closed("fail", "first fail"),
      ),
    ],
    [
      "fails by a section still cold at time-out",
      "fail",
      broken(
        "net-warm",
        [{ kind: "warm-up-ended", warm: false, tookMs: 60_000, cold: [{ net: "Q", volts: 46.2 }] }],
        closed("fail", "not warm"),
      ),
    ],
    [
      "is void when the cold section's net gave no reading: its lead may be off",
      "void",
      broken(
        "net-warm",
        [{ kind: "warm-up-ended", warm: false, tookMs: 60_000, cold: [{ net: "Q", volts: null }] }],
        closed("void", "not warm"),
      ),
    ],
    [
      "is void by a reading that gave none",
      "void",
      changed((event) =>
        event.kind === "reading" && event.part === "pattern"
          ? {
              ...event,
              readings: [
                judgeReading(noReading("Q", "lead not proved"), "low", latchPlan),
                judgedNet("QN", "high", 44.8),
              ],
            }
          : event,
      ).map((event) => (event.kind === "run-closed" ? closed("void") : event)),
    ],
    [
      "is void after a supply was refused",
      "void",
      [
        ...healthyUpTo((event) => event.kind === "controller"),
        {
          kind: "gate",
          gate: "source",
          rail: "plate",
          reading: reading("plate.source", 61.3),
          lowV: 45.6,
          highV: 50.4,
          open: false,
          waitedMs: 500,
        },
        closed("void", "supply refused"),
      ],
    ],
    ["is void after a trip", "void", broken("step-begun", [tripped], closed("void", "trip"))],
    [
      "does not blame the board for what it reads after a trip",
      "void",
      broken("step-begun", [tripped, failing], closed("void", "trip")),
    ],
    [
      "still fails for what was read before a trip",
      "fail",
      broken("step-begun", [failing, tripped], closed("fail", "trip")),
    ],
    ...outsideWindow.map(([rail, volts]): [string, Verdict, RunEvent[]] => [
      `is void when ${rail} was seen twice at ${volts} V, out of its window`,
      "void",
      broken("step-begun", [seenAt(rail, volts), seenAt(rail, volts)], closed("void")),
    ]),
    [
      "is void after a fault, and what is read then does not blame the board",
      "void",
      broken(
        "step-begun",
        [
          { kind: "fault", code: "scan-stands-still", message: "the scan stands still", net: null },
          failing,
        ],
        closed("void", "link lost"),
      ),
    ],
    [
      "is not failed by sections still cold when warm-up was broken off",
      "void",
      broken(
        "net-warm",
        [{ kind: "warm-up-ended", warm: false, tookMs: 60_000, cold: [{ net: "Q", volts: 46.2 }] }],
        closed("void", "line off its level"),
      ),
    ],
    [
      "is void when a driven line is off its level, whatever the nets then do",
      "void",
      broken(
        "step-begun",
        [
          {
            kind: "reading",
            step: 1,
            part: "inactive",
            readings: [judgedNet("Q", "low", 46), judgedLine("SET", "low", 40.2)],
          },
        ],
        closed("void", "line off its level"),
      ),
    ],
    [
      "is void when a fall is not proved",
      "void",
      changed((event) =>
        event.kind === "rail-fall" && event.rail === "plate" ? fall("plate", "lead lost") : event,
      ),
    ],
    [
      "is void when nothing is said of the fall of a raised rail",
      "void",
      without("rail-fall", (event) => event.kind === "rail-fall" && event.rail === "bias"),
    ],
    [
      "is not tested when it was stopped before the end",
      "not tested",
      broken(
        "step-begun",
        [{ kind: "stop-requested", by: "person", detail: "stop key" }],
        closed("not tested", "stopped by the person"),
      ),
    ],
    [
      "is not tested when a whole step was never begun",
      "not tested",
      changed((event) => ("step" in event && event.step === 0 ? undefined : event)),
    ],
    [
      "is not tested when a pattern's net was not read",
      "not tested",
      changed((event) =>
        event.kind === "reading" && event.part === "pattern"
          ? { ...event, readings: event.readings.slice(1) }
          : event,
      ),
    ],
    [
      "is not tested when the inactive lines were not read",
      "not tested",
      without("reading", (event) => event.kind === "reading" && event.part === "inactive"),
    ],
    [
      "is not tested when a hold was cut short",
      "not tested",
      without(
        "hold-progress",
        (event) => event.kind === "hold-progress" && event.elapsedMs === 120_000,
      ),
    ],
    [
      "is not tested when no line moved in a hold",
      "not tested",
      changed((event) => (event.kind === "hold-progress" ? { ...event, moves: 0 } : event)),
    ],
    [
      "is not tested when the flip was not held",
      "not tested",
      without("hold-progress", (event) => event.kind === "hold-progress" && event.part === "flip"),
    ],
    [
      "is not tested when the flip never read one of its nets",
      "not tested",
      changed((event) => {
        if (event.kind === "reading" && event.part === "flip") return undefined;
        return event.kind === "hold-progress" && event.part === "flip"
          ? { ...event, worst: { Q: { lowV: 9.3, highV: 9.8 } } }
          : event;
      }),
    ],
    [
      "is not tested when a gate never opened",
      "not tested",
      without("gate", (event) => event.kind === "gate" && event.rail === "bias"),
    ],
    ["is not tested without warm-up", "not tested", without("warm-up-ended")],
    [
      "fails when the extremes of a hold do not bear out that it passed",
      "fail",
      changed((event) =>
        event.kind === "hold-progress" && event.part === "hold"
          ? { ...event, worst: { ...event.worst, QN: { lowV: 9.3, highV: 14.2 } } }
          : event,
      ),
    ],
    [
      "fails when a step is called failed though its readings passed",
      "fail",
      changed((event) =>
        event.kind === "step-ended" && event.step === 0 ? { ...event, result: "fail" } : event,
      ),
    ],
    [
      "is void by a fault of the journal, though all was read",
      "void",
      changed((event) => (event.kind === "run-closed" ? closed("pass", "journal fault") : event)),
    ],
  ])("%s: %s", (_, verdict, events) => {
    // Closed as a pass, so that only what was read can make it worse.
    const lenient = events.map((event) => (event.kind === "run-closed" ? passing(event) : event));
    expect(fold(lenient).verdict).toBe(verdict);
  });

  it("is the worse of what its readings and what its closing line give", () => {
    const closedAs = (verdict: Verdict) =>
      fold(changed((event) => (event.kind === "run-closed" ? closed(verdict) : event))).verdict;
    expect(closedAs("fail")).toBe("fail");
    expect(closedAs("void")).toBe("void");
  });

  it("is open until the run is closed, and void at best when it never was while rails were up", () => {
    const cut = fold(healthyUpTo((event) => event.kind === "step-ended"));
    expect(cut.verdict).toBeNull();
    expect(verdictAtEnd(cut, null)).toBe("void");
  });

  it("can be asked for before the closing line and is then what the closing line gives", () => {
    const before = fold(healthyEvents.slice(0, -1));
    expect(verdictAtEnd(before, "completed")).toBe("pass");
    expect(verdictAtEnd(before, "link lost")).toBe("void");
  });

  it("is not touched by one look that was disturbed", () => {
    const events = changed((event) =>
      event.kind === "watch" ? { ...event, readings: [reading("plate.board", 44.9)] } : event,
    );
    expect(fold(events).verdict).toBe("pass");
  });

  it("says in the log when the closing line and the readings disagree", () => {
    const run = fold(
      changed((event) => (event.kind === "hold-progress" ? { ...event, moves: 0 } : event)),
    );
    expect(run.log.map(({ text }) => text)).toContain(
      "the journal was closed as pass, its readings say not tested; the worse counts",
    );
  });
});

describe("the first miss", () => {
  it("names net, volts and limit of a reading", () => {
    const run = fold(
      broken(
        "step-begun",
        [
          {
            kind: "reading",
            step: 1,
            part: "hold",
            readings: [judgedNet("Q", "high", 44), judgedNet("QN", "low", 21.4)],
          },
        ],
        closed("fail", "first fail"),
      ),
    );
    expect(run.firstMiss).toEqual({
      step: 1,
      net: "QN",
      volts: 21.4,
      text: "QN read 21.40 V, expected low: between, at most 18 V required",
    });
  });

  it("is the driven line before the nets that follow it", () => {
    const run = fold(
      broken(
        "step-begun",
        [
          {
            kind: "reading",
            step: 1,
            part: "inactive",
            readings: [judgedNet("Q", "low", 46), judgedLine("SET", "low", 40.2)],
          },
        ],
        closed("void", "line off its level"),
      ),
    );
    expect(run.firstMiss).toMatchObject({ net: "SET", volts: 40.2 });
  });

  it("is the net of a cold section, with its last volts and the time", () => {
    const run = fold(
      broken(
        "net-warm",
        [
          {
            kind: "warm-up-ended",
            warm: false,
            tookMs: 60_000,
            cold: [{ net: "QN", volts: 46.2 }],
          },
        ],
        closed("fail", "not warm"),
      ),
    );
    expect(run.firstMiss).toMatchObject({
      net: "QN",
      volts: 46.2,
      text: "QN not warm after 60.0 s, last read 46.20 V",
    });
  });

  it("is a refused supply's channel, with volts, window and what to do", () => {
    const run = fold([
      ...healthyUpTo((event) => event.kind === "controller"),
      {
        kind: "gate",
        gate: "source",
        rail: "bias",
        reading: reading("bias.source", -31.25),
        lowV: -26.4,
        highV: -21.6,
        open: false,
        waitedMs: 0,
      },
      { kind: "fault", code: "supply-out-of-window", message: "later", net: "bias.source" },
      closed("void", "supply refused"),
    ]);
    expect(run.firstMiss).toEqual({
      step: null,
      net: "bias.source",
      volts: -31.25,
      text:
        "bias at its source -31.25 V, expected -26.4 to -21.6 V. " +
        "Set the supply, or check its leads and its divider",
    });
  });

  it("is a cold net without a reading in the volts the converter saw, never as a reading", () => {
    const reading = {
      channel: "QN",
      volts: null,
      noReading: "lead not proved" as const,
      sum: 6,
      count: 16,
      min: 0,
      max: 1,
    };
    const run = fold(
      broken(
        "net-warm",
        [
          {
            kind: "warm-up-ended",
            warm: false,
            tookMs: 60_000,
            cold: [{ net: "QN", volts: null, reading }],
          },
        ],
        closed("void", "not warm"),
      ),
    );
    expect(run.verdict).toBe("void");
    // 55 V over 1024 steps, six sixteenths of one step.
    expect(run.firstMiss).toEqual({
      step: null,
      net: "QN",
      volts: null,
      text:
        "QN not warm after 60.0 s, gave no reading (lead not proved), the converter saw 0.02 V. " +
        "Measure QN on the board by hand: if it stays there at 0 V too, check its plate load, else its lead",
    });
  });

  it("is what a fault names, in the fault's words", () => {
    const message = "plate.source reads 61.30 V, expected 45.6 to 50.4 V";
    const run = fold([
      ...healthyUpTo((event) => event.kind === "controller"),
      { kind: "fault", code: "supply-out-of-window", message, net: null },
      closed("void", "supply refused"),
    ]);
    expect(run.firstMiss).toEqual({ step: null, net: "bench", volts: null, text: message });
  });

  it("stays the first", () => {
    const miss = (net: string, volts: number): RunEvent => ({
      kind: "reading",
      step: 1,
      part: "hold",
      readings: [judgedNet(net, "low", volts)],
    });
    const run = fold(broken("step-begun", [miss("Q", 20), miss("QN", 44)], closed("fail")));
    expect(run.firstMiss).toMatchObject({ net: "Q", volts: 20 });
  });
});

function passing(event: Extract<RunEvent, { kind: "run-closed" }>): RunEvent {
  return { ...event, verdict: "pass" };
}
