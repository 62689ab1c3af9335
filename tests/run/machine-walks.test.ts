/** Every state that events can lead to, for every machine: the ways out are there and hold. */
import { describe, expect, it } from "vitest";
import type { SafeOutcome } from "../../src/run/bring-safe.ts";
import { PLAIN_PROOF, type RunConduct } from "../../src/run/conduct.ts";
import { ending } from "../../src/run/ending.ts";
import { holdMachine } from "../../src/run/hold.machine.ts";
import { passMachine } from "../../src/run/pass.machine.ts";
import { powerMachine } from "../../src/run/power.machine.ts";
import { runMachine } from "../../src/run/run.machine.ts";
import { supervisionMachine } from "../../src/run/supervision.machine.ts";
import type { Turn } from "../../src/run/turn.ts";
import { warmUpMachine } from "../../src/run/warm-up.machine.ts";
import { latchPlan } from "./latch-plan.ts";
import { type WalkEdge, type WalkSnapshot, walk } from "./walk.ts";

const plan = latchPlan();
const why = ending("supply refused", "seeded");
const gate = [{ open: true }, { open: false, ending: why }];
const outcomes = [
  { result: "pass", ending: null },
  { result: "fail", ending: ending("first fail", "seeded") },
  { result: "void", ending: ending("line off its level", "seeded") },
];
const proved: SafeOutcome = { allProved: true, falls: [] };
const unproved: SafeOutcome = { allProved: false, falls: [] };

const endingEvents = [
  "STOP_REQUESTED",
  "CONTROLLER_TRIPPED",
  "CONTROLLER_RESTARTED",
  "DEAD_MAN_FIRED",
  "LINK_LOST",
  "JOURNAL_FAILED",
  "PROGRAM_FAILED",
];

function place(snapshot: WalkSnapshot): string {
  return typeof snapshot.value === "string" ? snapshot.value : JSON.stringify(snapshot.value);
}

function places(edges: readonly WalkEdge[]): string[] {
  return [...new Set(edges.flatMap(({ from, to }) => [place(from), place(to)]))].sort();
}

const goesOn: Turn = { kind: "goes on" };
const over: Turn = { kind: "over", ending: null };
const letGo: Turn = { kind: "over", ending: ending("completed", "let go") };
const passOutputs = [
  { ending: null, position: plan.steps.length },
  { ending: why, position: 1 },
  { ending: ending("first fail", "seeded"), position: 1 },
  { ending: ending("line off its level", "seeded"), position: 1 },
];

function walkRun(conduct: RunConduct): WalkEdge[] {
  return walk(runMachine, {
    input: { plan, conduct },
    events: endingEvents.map((type) => ({
      name: type,
      event: { type, ending: ending("trip", type) } as { type: string },
    })),
    outputs: {
      supervise: [ending("trip", "supervision")],
      power: [null, why],
      warmUp: [null, why],
      pass: passOutputs,
      handTurn: [goesOn, letGo],
      freezeTurn: [goesOn, over],
      walkRelays: [null, why],
      testDeadMan: [ending("completed", "every relay walked")],
      stepDown: [true, false],
      standbyTurn: [goesOn, over],
      powerDown: [proved, unproved],
    },
  });
}

describe("the run machine", () => {
  const edges = walkRun(PLAIN_PROOF);
  const proving = edges.filter(({ from }) => place(from).includes("proving"));

  it("can be in each of its states and in no other", () => {
    expect(places(edges)).toEqual([
      "ended",
      "poweringDown",
      '{"proving":"raising"}',
      '{"proving":"stepping"}',
      '{"proving":"warmingUp"}',
    ]);
  });

  it.each(endingEvents)("goes to powering down on %s from everywhere it proves", (name) => {
    const taken = proving.filter(({ by }) => by === name);
    expect(taken.length).toBeGreaterThanOrEqual(3);
    expect(taken.map(({ to }) => place(to))).toEqual(taken.map(() => "poweringDown"));
    expect(
      taken.every(({ to }) => (to.context["ending"] as { detail: string }).detail === name),
    ).toBe(true);
  });

  it("reaches the next phase only when the one before went well", () => {
    const onward = proving.filter(({ to }) => place(to).includes("proving"));
    expect([
      ...new Set(
        onward
          .filter(({ from, to }) => place(from) !== place(to))
          .map(({ from, by, to }) => `${place(from)} ${by} ${place(to)}`),
      ),
    ]).toEqual([
      '{"proving":"raising"} done power {"proving":"warmingUp"}',
      '{"proving":"warmingUp"} done warmUp {"proving":"stepping"}',
    ]);
  });

  it("ends only by way of powering down", () => {
    const ends = edges.filter(({ to }) => place(to) === "ended");
    expect([...new Set(ends.map(({ from }) => place(from)))]).toEqual(["poweringDown"]);
  });

  it("stays in powering down whatever else happens, and keeps its first reason", () => {
    for (const { from, by, to } of edges) {
      if (place(from) !== "poweringDown" || !endingEvents.includes(by)) continue;
      expect(place(to)).toBe("poweringDown");
      expect(to.context["ending"]).toEqual(from.context["ending"]);
    }
  });

  it("calls a run completed only when every phase went well and nothing intervened", () => {
    const completed = edges.filter(
      ({ to }) =>
        place(to) === "poweringDown" &&
        (to.context["ending"] as { cause: string }).cause === "completed",
    );
    const ways = completed
      .filter(({ from }) => place(from) !== "poweringDown")
      .map(({ from, by }) => `${place(from)} ${by}`);
    expect([...new Set(ways)]).toEqual(['{"proving":"stepping"} done pass']);
  });
});

const everything: RunConduct = {
  mode: "proof",
  handMs: 0,
  freezeMs: 9000,
  standbyMs: 9000,
  soak: null,
};

describe.each([
  {
    name: "by hand",
    conduct: { ...everything, mode: "hand" as const, handMs: 9000 },
    states: ['{"proving":"byHand"}'],
  },
  {
    name: "with freeze and standby",
    conduct: everything,
    states: ['{"proving":"frozen"}', '{"proving":"goingToStandby"}', '{"proving":"standby"}'],
  },
])("the run machine $name", ({ conduct, states }) => {
  const edges = walkRun(conduct);

  it("can be in these states besides those of a plain proof", () => {
    expect(places(edges)).toEqual(expect.arrayContaining(states));
  });

  it.each(endingEvents)("leaves each of them by powering down on %s", (name) => {
    const taken = edges.filter(({ from, by }) => states.includes(place(from)) && by === name);
    expect(new Set(taken.map(({ from }) => place(from)))).toEqual(new Set(states));
    expect(new Set(taken.map(({ to }) => place(to)))).toEqual(new Set(["poweringDown"]));
  });

  it("keeps what was found when a person stops where nothing is left to prove", () => {
    for (const { from, by, to } of edges) {
      if (by !== "STOP_REQUESTED" || !states.includes(place(from))) continue;
      const expected = conduct.mode === "hand" ? "STOP_REQUESTED" : undefined;
      const { detail } = to.context["ending"] as { detail: string };
      if (expected === undefined) expect(to.context["ending"]).toEqual(from.context["ending"]);
      else expect(detail).toBe(expected);
    }
  });

  it("leaves each of them by powering down when its work fails or hangs", () => {
    const bad = edges.filter(
      ({ from, by }) => states.includes(place(from)) && /^(failed|after) /.test(by),
    );
    expect(bad.length).toBeGreaterThanOrEqual(2 * states.length);
    expect(new Set(bad.map(({ to }) => place(to)))).toEqual(new Set(["poweringDown"]));
  });
});

describe("the run machine in a rig check", () => {
  const edges = walkRun({ ...PLAIN_PROOF, mode: "rig check" });
  const walking = '{"proving":"walkingRelays"}';
  const silent = "testingDeadMan";

  it("walks the relays once the rails are up, and warms nothing", () => {
    expect(places(edges)).toEqual([
      "ended",
      "poweringDown",
      silent,
      '{"proving":"raising"}',
      walking,
    ]);
  });

  it("stops feeding, which only proving does, when every relay has been walked", () => {
    const into = edges.filter(({ from, to }) => place(to) === silent && place(from) !== silent);
    expect([...new Set(into.map(({ from, by }) => `${place(from)} ${by}`))]).toEqual([
      `${walking} done walkRelays`,
    ]);
  });

  it("waits the dead-man out, and powers down on anything else", () => {
    const left = edges.filter(({ from }) => place(from) === silent);
    const byName = (name: string) => left.filter(({ by }) => by === name);
    expect(new Set(byName("DEAD_MAN_FIRED").map(({ to }) => place(to)))).toEqual(new Set([silent]));
    const others = left.filter(({ by }) => by !== "DEAD_MAN_FIRED");
    expect(new Set(others.map(({ by }) => by)).size).toBeGreaterThanOrEqual(9);
    expect(new Set(others.map(({ to }) => place(to)))).toEqual(new Set(["poweringDown"]));
  });

  it.each(endingEvents)("leaves the walk by powering down on %s", (name) => {
    const taken = edges.filter(({ from, by }) => place(from) === walking && by === name);
    expect(taken.length).toBeGreaterThan(0);
    expect(new Set(taken.map(({ to }) => place(to)))).toEqual(new Set(["poweringDown"]));
  });
});

describe("freeze and standby", () => {
  const edges = walkRun(everything);
  const into = (state: string) =>
    edges.filter(({ from, to }) => place(to) === state && place(from) !== state);
  const causeOf = ({ to }: WalkEdge) => (to.context["ending"] as { cause: string }).cause;

  it("freeze only at a miss that was judged", () => {
    const frozen = into('{"proving":"frozen"}');
    expect(new Set(frozen.map(({ from }) => place(from)))).toEqual(
      new Set(['{"proving":"stepping"}']),
    );
    expect(new Set(frozen.map(causeOf))).toEqual(new Set(["first fail", "line off its level"]));
  });

  it("keep heaters on only after an end that says nothing against the bench", () => {
    const standby = into('{"proving":"standby"}');
    expect(new Set(standby.map(({ from, by }) => `${place(from)} ${by}`))).toEqual(
      new Set(['{"proving":"goingToStandby"} done stepDown']),
    );
    expect(new Set(standby.map(causeOf))).toEqual(new Set(["completed", "first fail"]));
  });
});

const children = [
  {
    machine: powerMachine,
    input: { plan },
    outputs: {
      checkSupplies: gate,
      measureSource: gate,
      setTrips: [undefined],
      waitForHeaters: [undefined],
      checkBias: gate,
      armTrips: [undefined],
      switchOn: [undefined],
      watchRise: gate,
    },
    good: ["powered"],
    isClear: (snapshot: WalkSnapshot) => snapshot.output === null,
  },
  {
    machine: warmUpMachine,
    input: { plan },
    outputs: {
      proveLineLeads: gate,
      drivePattern: [undefined],
      settle: [undefined],
      readPattern: [{ kind: "warming" }, { kind: "warm" }, { kind: "over", ending: why }],
    },
    good: ["warm"],
    isClear: (snapshot: WalkSnapshot) => snapshot.output === null,
  },
  {
    machine: passMachine,
    input: { plan },
    outputs: { driveStep: [undefined], settle: [undefined], readStep: outcomes, hold: outcomes },
    good: ["completed"],
    isClear: (snapshot: WalkSnapshot) =>
      (snapshot.output as { ending: unknown } | undefined)?.ending === null,
  },
  {
    machine: holdMachine,
    input: { plan, position: 2 },
    outputs: {
      enter: [undefined],
      release: [undefined],
      settle: [undefined],
      readInactive: outcomes,
      beginWatch: [0],
      waitUntilDue: [{ kind: "end", atMs: 1 }],
      moveLine: [undefined],
      readSet: outcomes,
      endWatch: [undefined],
      close: [undefined],
    },
    good: ["closed"],
    isClear: (snapshot: WalkSnapshot) => (snapshot.output as { result: string }).result === "pass",
  },
];

describe.each(children.map((child) => ({ name: child.machine.id, ...child })))(
  "the $name machine",
  ({ machine, input, outputs, good, isClear }) => {
    const edges = walk(machine, { input, events: [], outputs });

    it("never ends well by a failed actor, a deadline or a refused gate", () => {
      const well = edges.filter(({ to }) => to.status === "done" && isClear(to));
      expect(well.length).toBeGreaterThan(0);
      for (const { by, to } of well) {
        expect(by).toMatch(/^done /);
        expect(good).toContain(place(to));
      }
    });

    it("leaves each of its states when the actor there fails or its deadline passes", () => {
      const bad = edges.filter(({ by }) => /^(failed|after) /.test(by));
      expect(bad.length).toBeGreaterThan(0);
      const stayed = bad.filter(
        ({ from, to }) =>
          to.status === "active" && !["closing"].includes(place(to)) && place(from) !== "",
      );
      expect(stayed.map(({ from, by, to }) => `${place(from)} ${by} ${place(to)}`)).toEqual([]);
    });
  },
);

describe("the power machine", () => {
  const { outputs, input } = children[0] ?? { outputs: {}, input: {} };
  const edges = walk(powerMachine, {
    input,
    events: [],
    outputs: outputs as Record<string, unknown[]>,
  });
  const switchedOn = edges.filter(
    ({ to, from }) => place(to) === "switching" && place(from) !== "switching",
  );

  it("switches plate only from armed trips, and those only from a bias that was checked", () => {
    const plate = switchedOn.filter(({ to }) => to.context["position"] === 2);
    expect([...new Set(plate.map(({ from, by }) => `${place(from)} ${by}`))]).toEqual([
      "armingTrips done armTrips",
    ]);
    const armed = edges.filter(
      ({ to, from }) => place(to) === "armingTrips" && place(from) !== "armingTrips",
    );
    expect([...new Set(armed.map(({ from }) => place(from)))]).toEqual(["checkingBias"]);
  });

  it("switches heater and bias only after their source was measured and their limits set", () => {
    const others = switchedOn.filter(({ to }) => to.context["position"] !== 2);
    expect([...new Set(others.map(({ from, by }) => `${place(from)} ${by}`))]).toEqual([
      "settingTrips done setTrips",
    ]);
    const limited = edges.filter(
      ({ to, from }) => place(to) === "settingTrips" && place(from) !== "settingTrips",
    );
    expect([...new Set(limited.map(({ from }) => place(from)))]).toEqual(["measuringSource"]);
  });
});

describe("the supervision machine", () => {
  const looks = [
    { kind: "good", scan: 7 },
    { kind: "suspect", ending: why },
    { kind: "bad", ending: why },
  ];
  const edges = walk(supervisionMachine, {
    input: undefined,
    events: [],
    outputs: { beats: looks, look: looks, feed: [undefined] },
  });

  it("feeds only after a look that was good", () => {
    const fed = edges.filter(
      ({ to, from }) => place(to) === "feeding" && place(from) !== "feeding",
    );
    expect([...new Set(fed.map(({ from }) => place(from)))]).toEqual(["confirming"]);
    expect(fed.every(({ by, to }) => by === "done look" && to.context["scan"] === 7)).toBe(true);
  });

  it("goes on beating after a round that was good, and after a confirmed look has been fed", () => {
    const beating = edges.filter(({ to }) => place(to) === "beating");
    expect(new Set(beating.map(({ by, from }) => `${place(from)} ${by}`))).toEqual(
      new Set([
        "beating done beats",
        '{"resting":"betweenBeats"} after xstate.after.heartbeatMs.supervision.resting.betweenBeats',
      ]),
    );
  });

  it("ends by a second suspect look and never by a first", () => {
    const ended = edges.filter(({ by, to }) => by.startsWith("done ") && place(to) === "ended");
    const first = ended.filter(({ from }) => place(from) === "beating");
    expect(new Set(ended.map(({ from }) => place(from)))).toEqual(
      new Set(["beating", "confirming"]),
    );
    expect(first.every(({ to }) => to.output === why)).toBe(true);
  });
});
