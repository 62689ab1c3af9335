/**
 * A sequence for a board: the test itself, then what is proper to what the board does: its counts to their
 * ends, its states held, lines that may go at once in both orders; warm-up before, and a cycle for a soak.
 */
import type { LineLevels } from "../../../events/plan.ts";
import type { Sequence, SequenceHold } from "../../../formats/sequence.schema.ts";
import { chance } from "../chance.ts";
import type { WalkSubject } from "../walk-machine.ts";
import type { WalkTest } from "../walk-test.ts";
import { type CountFound, findCount } from "./find-count.ts";
import { findExercise } from "./find-exercise.ts";
import { findHold, type HoldFound, holdingGroups } from "./find-holds.ts";
import { findOrders, type OrdersFound } from "./find-orders.ts";
import { GoodWalk } from "./good-walk.ts";
import { type SequenceStep, StepWriter } from "./step-writer.ts";

export interface BoardTimes {
  /** Between driving and reading. */
  readonly settleMs: number;
  /** From heaters on until every section must be warm. */
  readonly warmUpTimeoutMs: number;
  /** Holds last longer than this, by far. */
  readonly slowestTimeConstantMs: number;
}

export interface BoardSequenceTask {
  readonly subject: WalkSubject;
  readonly test: WalkTest;
  /** Name of the board type. */
  readonly board: string;
  readonly sequence: string;
  /** Names of the lines, in the order of the circuit's inputs. */
  readonly lines: readonly string[];
  /** Loads the rig can connect. */
  readonly loads: readonly string[];
  /** Lines, by number, that go together on one write, without a contact that bounces. */
  readonly instantLines: readonly number[];
  readonly times: BoardTimes;
  readonly seed: number;
  readonly notes: string;
}

export interface BoardSequence {
  readonly sequence: Sequence;
  readonly holds: number;
  readonly counts: number;
  readonly orders: number;
  /** Nets for which no warm-up pattern was found. */
  readonly neverLow: readonly string[];
}

const STEADY = { bandV: 0.3, forMs: 3000 };
const MOVE_EVERY_MS = 500;
const READ_EVERY_MS = 250;
/** The first hold is the long one. */
const FIRST_HOLD_MS = 120_000;
const HOLD_MS = 5000;
/** As the format has it. */
const MOVED_MOST = 8;
const CYCLE_MOST = 64;
/** A count of so many moves in all is read at every one. */
const COUNT_READ_MOVES = 16;
const COUNT_TIMES = 2;
const ORDER_TIMES = 10;
const CYCLE_STEP_MS = 500;

export function boardSequence(task: BoardSequenceTask): BoardSequence {
  const { subject, test, loads, times } = task;
  const walk = new GoodWalk(subject);
  const observed = inOrder(subject);
  const setting = { lines: task.lines, observed, settleMs: times.settleMs };
  const writer = new StepWriter(walk, setting);
  const steps: SequenceStep[] = test.vectors.map((lines, step) =>
    step === 0
      ? writer.step(lines, { name: "begin", extra: allAt(loads, "high") })
      : writer.step(lines),
  );
  const count = findCount(walk, writer.place);
  if (count) steps.push(...countSteps(writer, count));
  let holds = 0;
  for (const group of holdingGroups(subject.circuit)) {
    const hold = findHold(
      walk,
      writer.place,
      group.filter((net) => observed.includes(net)),
    );
    if (hold === null || !flipIsRead(hold, observed)) continue;
    steps.push(...holdSteps(writer, hold, { task, isFirst: holds === 0 }));
    holds += 1;
  }
  const orders = findOrders(walk, writer.place, task.instantLines);
  for (const found of orders) steps.push(...orderSteps(writer, found));
  const exercise = findExercise(walk, observed, chance(task.seed));
  const names = (nets: readonly number[]) => nets.map((net) => subject.circuit.nets[net] ?? "");
  const soak = soakOf(task, new StepWriter(walk, setting));
  return {
    sequence: {
      format: "holdfast-sequence",
      version: 1,
      sequence: task.sequence,
      board: task.board,
      warmUp: {
        timeoutMs: times.warmUpTimeoutMs,
        steady: STEADY,
        exercise: exercise.patterns.map(({ lines, low }) => ({
          set: writer.levels(lines),
          settleMs: times.settleMs,
          pullsLow: names(low),
        })),
      },
      steps,
      ...(soak && { soak }),
      notes: task.notes,
    },
    holds,
    counts: count ? 1 : 0,
    orders: orders.length,
    neverLow: names(exercise.never),
  };
}

function flipIsRead({ group, set, flip, steady }: HoldFound, observed: readonly number[]): boolean {
  return group.some(
    (net) =>
      observed.includes(net) &&
      steady.includes(net) &&
      set.place.values[net] !== flip.place.values[net],
  );
}

/** Nets that are read, those a change reaches first before those it reaches later. */
function inOrder({ circuit, observed }: WalkSubject): number[] {
  const place = new Map([...circuit.order].map((gate, at) => [circuit.gateOutput[gate], at]));
  return [...new Set(observed)].sort((a, b) => (place.get(a) ?? -1) - (place.get(b) ?? -1));
}

function allAt(names: readonly string[], level: "low" | "high"): LineLevels {
  return Object.fromEntries(names.map((name) => [name, level]));
}

function countSteps(
  writer: StepWriter,
  { lines, way, start, periods }: CountFound,
): SequenceStep[] {
  const names = lines.map((line) => writer.setting.lines[line] ?? "");
  const about = `${periods.length} pulses of ${names.join(" and ")} must lead back to where they began.`;
  const steps: SequenceStep[] = [{ note: about }, ...way.map((one) => writer.step(one))];
  const moves = periods.flat();
  if (moves.length <= COUNT_READ_MOVES) {
    const round = moves.flatMap(({ lines: next }) => (next ? [writer.step(next)] : []));
    return [...steps, { repeat: COUNT_TIMES, steps: round }];
  }
  const round = (periods[0] ?? []).flatMap((place, move) => {
    const always = writer.setting.observed.filter((net) =>
      periods.every((period) => period[move]?.values[net] === place.values[net]),
    );
    if (place.lines === null || always.length === 0) return [];
    return [{ ...writer.step(place.lines), expect: writer.expected(place, always) }];
  });
  if (round.length < (periods[0]?.length ?? 0)) return [];
  writer.moveTo(start, names);
  const back = start.lines && writer.step(start.lines, { name: `back after ${periods.length}` });
  return [...steps, { repeat: periods.length, steps: round }, ...(back ? [back] : [])];
}

function holdSteps(
  writer: StepWriter,
  { group, way, set, flip, move, steady }: HoldFound,
  { task, isFirst }: { task: BoardSequenceTask; isFirst: boolean },
): SequenceStep[] {
  const name = (line: number) => task.lines[line] ?? "";
  const moving = [...move.map(name), ...task.loads].slice(0, MOVED_MOST);
  const still = [...task.lines.keys()].filter((line) => !move.includes(line));
  const begin = way.map((lines) => writer.step(lines));
  const leastMs = 10 * task.times.slowestTimeConstantMs;
  // Every moving line goes there and back, in the flip too.
  const forMs = Math.max(HOLD_MS, leastMs, (2 * moving.length + 2) * MOVE_EVERY_MS);
  const nets = steady.filter((net) => writer.setting.observed.includes(net));
  const read = group.filter((net) => nets.includes(net));
  const held = read.find((net) => set.place.values[net] === 2) ?? read[0] ?? -1;
  const level = set.place.values[held] === 2 ? "high" : "low";
  const hold: SequenceHold = {
    hold: `${writer.walk.subject.circuit.nets[held]} ${level}`,
    ...pulseLevels(task, set, move),
    inactive: Object.fromEntries(
      still.map((line) => [name(line), set.release[line] === 2 ? "high" : "low"]),
    ),
    expect: writer.expected(set.place, nets),
    move: moving,
    moveEveryMs: MOVE_EVERY_MS,
    readEveryMs: READ_EVERY_MS,
    settleMs: task.times.settleMs,
    forMs: isFirst ? Math.max(FIRST_HOLD_MS, forMs) : forMs,
    flip: { ...pulseLevels(task, flip, move), expect: writer.expected(flip.place, nets), forMs },
  };
  writer.moveTo(flip.place, moving);
  return [...begin, hold];
}

/** Lines that enter, with those that may stand anywhere, and those that are let go. */
function pulseLevels(
  task: BoardSequenceTask,
  { enter, release }: HoldFound["set"],
  move: readonly number[],
) {
  const pulsed = [...enter.keys()].filter((line) => enter[line] !== release[line]);
  const levels = (from: ArrayLike<number>, lines: readonly number[]): LineLevels =>
    Object.fromEntries(
      lines.map((line) => [task.lines[line] ?? "", from[line] === 2 ? "high" : "low"]),
    );
  return { enter: levels(enter, [...move, ...pulsed]), release: levels(release, pulsed) };
}

function orderSteps(writer: StepWriter, found: OrdersFound): SequenceStep[] {
  const { way, firstAlone, secondAlone, both, back } = found;
  const [one = "", two = ""] = found.lines.map((line) => writer.setting.lines[line] ?? "");
  const begin = way.map((lines) => writer.step(lines));
  const to = (place: OrdersFound["both"], name: string) =>
    place.lines ? [writer.step(place.lines, { name })] : [];
  const home = () => back.map((lines) => writer.step(lines));
  const round = [
    ...to(firstAlone, `${one} first`),
    ...to(both, `${two} second`),
    ...home(),
    ...to(secondAlone, `${two} first`),
    ...to(both, `${one} second`),
    ...home(),
    ...to(both, `${one} and ${two} at once`),
    ...home(),
  ];
  const note = `${one} and ${two} in both orders and at once, ${ORDER_TIMES} times: what passes is ${ORDER_TIMES} of ${ORDER_TIMES} tries, and no proof that they cannot race.`;
  return [...begin, { note }, { repeat: ORDER_TIMES, steps: round }];
}

/** The test once more: its first step is from power-up, so it may follow its last. */
function soakOf({ test, loads, times }: BoardSequenceTask, writer: StepWriter): Sequence["soak"] {
  const vectors = test.vectors.slice(0, CYCLE_MOST);
  if (vectors.length < 2) return undefined;
  const half = Math.floor(vectors.length / 2);
  const cycle = vectors.map((lines, step) => {
    const extra = step === 0 ? allAt(loads, "low") : step === half ? allAt(loads, "high") : {};
    const pattern = writer.step(lines, { extra });
    return step === 0
      ? { ...pattern, step: "begin", set: { ...writer.levels(lines), ...extra } }
      : pattern;
  });
  const leastMs = 1.5 * cycle.length * times.settleMs;
  return {
    cycle,
    everyMs: Math.ceil(leastMs / CYCLE_STEP_MS) * CYCLE_STEP_MS,
    readEveryMin: 5,
  };
}
