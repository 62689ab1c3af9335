/**
 * A soak of any length on the lamp flasher latch, event by event, as a run would write it: legs, tallies,
 * full sets every few minutes, and wrong cycles kept whole with their neighbours up to the bound an hour
 * and kind. Made one at a time, so that a million cycles need no more memory than a hundred.
 */
import type { JudgedReading, RunEvent } from "../../src/events/events.ts";
import type { PatternStep } from "../../src/events/plan.ts";
import {
  type CycleVolts,
  KEPT_PER_HOUR,
  NEIGHBOUR_CYCLES,
  type SoakCounts,
  type SoakOrder,
} from "../../src/events/soak.ts";
import { closed, healthyEvents, judgedNet, opened, powerDown, reading } from "./latch-run.ts";

export interface SoakShape {
  readonly cycles: number;
  /** Every so many cycles one goes wrong; 0: none. */
  readonly wrongEvery: number;
  /** How far Q high has come down at the end, volts. */
  readonly driftV: number;
}

export interface TimedEvent {
  readonly ms: number;
  readonly event: RunEvent;
}

const EVERY_MS = 500;
const TALLY_MS = 15_000;
const WATCH_MS = 60_000;
const SET_MS = 300_000;
const HOUR_MS = 3_600_000;

const cycle: readonly PatternStep[] = [
  pattern(0, "set", { SET: "high", RESET: "low" }, { Q: "high", QN: "low" }),
  pattern(1, "set held", { SET: "low" }, { Q: "high", QN: "low" }),
  pattern(2, "reset", { RESET: "high" }, { Q: "low", QN: "high" }),
  pattern(3, "reset held", { RESET: "low" }, { Q: "low", QN: "high" }),
];

function pattern(
  index: number,
  name: string,
  set: PatternStep["set"],
  expect: PatternStep["expect"],
): PatternStep {
  return { kind: "pattern", index, name, set, settleMs: 100, expect, note: null };
}

function soakOrder({ cycles }: Pick<SoakShape, "cycles">): SoakOrder {
  return {
    cycle,
    forMs: null,
    cycles,
    errorsMax: null,
    everyMs: EVERY_MS,
    readEveryMs: SET_MS,
    power: null,
    dwell: null,
    goOn: [],
    attendance: "attended",
  };
}

/** From the opening to the first cycle. */
export function* soakOpening(shape: Pick<SoakShape, "cycles">): Generator<TimedEvent> {
  let ms = 0;
  const at = (event: RunEvent): TimedEvent => ({ ms, event });
  if (opened.kind !== "run-opened") throw new TypeError("a run begins with its opening");
  const order = soakOrder(shape);
  yield at({ ...opened, version: 4, mode: "soak", soak: order });
  yield at({
    kind: "leg-begun",
    leg: 1,
    why: "first",
    wall: opened.wall,
    gapMs: null,
    tornBytes: 0,
  });
  const warm = healthyEvents.findIndex(({ kind }) => kind === "warm-up-ended");
  for (const event of healthyEvents.slice(1, warm + 1)) {
    ms += 700;
    yield at(event);
  }
  yield at({ kind: "phase", phase: "soaking" });
}

export function* soakEvents(shape: SoakShape): Generator<TimedEvent> {
  let ms = 0;
  const at = (event: RunEvent): TimedEvent => ({ ms, event });
  for (const one of soakOpening(shape)) {
    ms = one.ms;
    yield one;
  }
  for (const one of cycling(shape, ms)) {
    ms = one.ms;
    yield one;
  }
  yield at({ kind: "leg-ended", leg: 1, cause: "completed", detail: "", provedOff: true });
  for (const event of powerDown) yield at(event);
  yield at(closed(shape.wrongEvery > 0 ? "fail" : "pass"));
}

function* cycling(
  { cycles, wrongEvery, driftV }: SoakShape,
  beganMs: number,
): Generator<TimedEvent> {
  const before: CycleVolts[] = [];
  let waiting: { readonly error: number; readonly after: CycleVolts[] }[] = [];
  const keptInHour = new Map<string, number>();
  let [wrong, notKept, error, set] = [0, 0, 0, 0];
  const told = { tally: beganMs, watch: beganMs, set: beganMs - SET_MS, hour: -1 };
  for (let n = 1; n <= cycles; n += 1) {
    const ms = beganMs + n * EVERY_MS;
    const isWrong = wrongEvery > 0 && n % wrongEvery === 0;
    const step = isWrong ? (n / wrongEvery) % cycle.length : null;
    const highV = 45.1 - (driftV * n) / cycles;
    const own: CycleVolts = { cycle: n, ms, volts: voltsOf(step, highV, n) };
    if (step !== null) {
      wrong += 1;
      const hour = Math.floor(ms / HOUR_MS);
      if (hour !== told.hour) keptInHour.clear();
      told.hour = hour;
      const kind = `${step}`;
      const kept = keptInHour.get(kind) ?? 0;
      if (kept >= KEPT_PER_HOUR) notKept += 1;
      else {
        keptInHour.set(kind, kept + 1);
        error += 1;
        yield { ms, event: wrongCycle({ error, own, step, before: [...before], beganMs }) };
        waiting.push({ error, after: [] });
      }
    }
    before.push(own);
    if (before.length > NEIGHBOUR_CYCLES) before.shift();
    for (const one of waiting) {
      if (one.error === error && step !== null) continue;
      one.after.push(own);
      if (one.after.length < NEIGHBOUR_CYCLES) continue;
      yield { ms, event: { kind: "cycle-error-after", error: one.error, after: one.after } };
    }
    waiting = waiting.filter(({ after }) => after.length < NEIGHBOUR_CYCLES);
    if (ms - told.watch >= WATCH_MS) {
      told.watch = ms;
      yield { ms, event: { kind: "watch", readings: railsAt(n) } };
    }
    if (ms - told.set >= SET_MS) {
      told.set = ms;
      set += 1;
      yield {
        ms,
        event: fullSet({
          set,
          cycle: n,
          highV,
          onMs: ms - beganMs,
          moment: set === 1 ? "begin" : "settled",
        }),
      };
    }
    if (ms - told.tally >= TALLY_MS || n === cycles) {
      told.tally = ms;
      yield { ms, event: tally({ n, wrong, notKept, highV, cyclingMs: ms - beganMs }) };
    }
  }
}

/** As single conversions come: doubles with all their digits. */
function voltsOf(wrongStep: number | null, highV: number, n: number): number[][] {
  const noise = ((n * 7919) % 101) / 997;
  return cycle
    .slice(0, wrongStep === null ? cycle.length : wrongStep + 1)
    .map(({ expect, index }) =>
      Object.values(expect).map((level, net) => {
        if (index === wrongStep && net === 0) return 24.3 + noise;
        return level === "high" ? highV + noise : 9.4 + noise;
      }),
    );
}

function wrongCycle({
  error,
  own,
  step,
  before,
  beganMs,
}: {
  error: number;
  own: CycleVolts;
  step: number;
  before: readonly CycleVolts[];
  beganMs: number;
}): RunEvent {
  const planned = cycle[step];
  const readings: JudgedReading[] = Object.entries(planned?.expect ?? {}).map(([net, level], at) =>
    judgedNet(net, level, own.volts[step]?.[at] ?? 0),
  );
  return {
    kind: "cycle-error",
    error,
    cycle: own.cycle,
    step,
    onMs: own.ms - beganMs,
    wall: "2026-05-02T10:00:00.000+00:00",
    readings,
    own,
    before,
    rails: railsAt(own.cycle),
    referenceV: 4.998,
    celsius: 21.5,
    repeats: 0,
    moved: Object.keys(planned?.set ?? {}),
  };
}

function railsAt(n: number) {
  const sway = ((n * 31) % 17) / 100;
  return [
    reading("heater.board", 12.5 + sway / 4),
    reading("bias.board", -24 + sway / 2),
    reading("plate.board", 47.8 + sway),
  ];
}

function fullSet({
  set,
  cycle: at,
  highV,
  onMs,
  moment,
}: {
  set: number;
  cycle: number;
  highV: number;
  onMs: number;
  moment: "begin" | "settled";
}): RunEvent {
  return {
    kind: "soak-readings",
    set,
    cycle: at,
    moment,
    onMs,
    steps: cycle.map(({ index, expect }) => ({
      step: index,
      readings: Object.entries(expect).map(([net, level]) =>
        judgedNet(net, level, level === "high" ? highV : 9.5),
      ),
    })),
    rails: railsAt(at),
    referenceV: 4.998,
    celsius: 21.5,
  };
}

export function tally({
  n,
  wrong,
  notKept,
  highV,
  cyclingMs,
}: {
  n: number;
  wrong: number;
  notKept: number;
  highV: number;
  cyclingMs: number;
}): RunEvent {
  const counts: SoakCounts = {
    cycles: n,
    wrong,
    unjudged: 0,
    notKept,
    powerCycles: 1,
    boardMs: cyclingMs,
    heaterMs: cyclingMs + 18_000,
    cyclingMs,
    closings: { SET: n, RESET: n, plate: 1, bias: 1, heater: 1 },
    repeats: 0,
    link: { bytes: 240 * n, movingBytes: 140 * n, movingMs: 124 * n, movingRepeats: 0 },
  };
  const low = { class: "low", lowV: 9.4, highV: 9.6, meanV: 9.5, count: 60 } as const;
  const high = { class: "high", lowV: highV, highV: highV + 0.1, meanV: highV, count: 60 } as const;
  const spans = ["Q", "QN"].flatMap((net) => [
    { net, ...low },
    { net, ...high },
  ]);
  return { kind: "soak-tally", counts, spans };
}
