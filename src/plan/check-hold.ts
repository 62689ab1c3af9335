/** Whether a hold proof proves anything: a contact stuck closed must not pass it. */
import type { HoldFlip, HoldStep, LineLevels } from "../events/plan.ts";
import type { ValuePath } from "../formats/yaml-tree.ts";
import { milliseconds } from "./divider-range.ts";
import { readingMs } from "./estimate.ts";
import { RELAY_SETTLE_MS } from "./fixed-wiring.ts";
import type { LineStates } from "./line-states.ts";
import { checkExpected, checkLines, checkSettle, type SequenceCheck } from "./sequence-parts.ts";

/** Every gap in a hold proof; moves `states` on as the hold would. */
export function checkHold(
  check: SequenceCheck,
  step: HoldStep,
  path: ValuePath,
  states: LineStates,
): void {
  const moved = movedBothWays(step);
  checkPulse(check, step, { path, moved });
  checkPulse(check, step.flip, { path: [...path, "flip"], moved });
  checkLines(check, [...path, "inactive"], step.inactive);
  checkFlips(check, step, path);
  checkInactive(check, step, path);
  checkMoves(check, step, path);
  checkTimes(check, step, path);
  const read = [step.expect, step.flip.expect, step.inactive].flatMap((set) => Object.keys(set));
  checkSettle(check, path, step.settleMs, read);
  states.apply(step.enter);
  states.apply(step.release);
  checkStates(check, step, path, states);
  states.apply(step.flip.enter);
  states.apply(step.flip.release);
}

function incomplete(
  check: SequenceCheck,
  path: ValuePath,
  part: "key" | "value",
  reason: string,
  whatToDo: string,
): void {
  const code = "HOLD_INCOMPLETE";
  check.problems.add(check.documents.sequence, path, { code, part, reason, whatToDo });
}

/**
 * Lines that are moved there and back in hold and flip alike. Such a line holds nothing by its own
 * level, and so need not be released: the data of a gated latch, which must outlast the gate.
 */
function movedBothWays({ move, moveEveryMs, forMs, flip }: HoldStep): ReadonlySet<string> {
  const shortestMs = Math.min(forMs, flip.forMs);
  const moves = Math.ceil(shortestMs / moveEveryMs) - 1;
  return new Set(moves >= 2 * move.length ? move : []);
}

/** Lines of a pulse go there and back: the same lines, each to its other level. */
function checkPulse(
  check: SequenceCheck,
  pulse: HoldFlip | HoldStep,
  { path, moved }: { readonly path: ValuePath; readonly moved: ReadonlySet<string> },
): void {
  const enterPath = [...path, "enter"];
  const releasePath = [...path, "release"];
  checkLines(check, enterPath, pulse.enter);
  checkLines(check, releasePath, pulse.release);
  checkExpected(check, [...path, "expect"], pulse.expect);
  if (Object.keys(pulse.enter).length === 0) {
    incomplete(check, enterPath, "key", "no line enters the state", "name the line that does");
  }
  for (const [line, level] of Object.entries(pulse.enter)) {
    const released = levelOf(pulse.release, line);
    if (released === undefined) {
      if (moved.has(line)) continue;
      const reason = `${line} is driven by enter and never released, so its contact would hold the state`;
      const whatToDo = `add ${line} to release, or to move for long enough to go there and back`;
      incomplete(check, releasePath, "key", reason, whatToDo);
    } else if (released === level) {
      const reason = `${line} stays ${level}, so its contact would hold the state`;
      incomplete(check, [...releasePath, line], "value", reason, "release it to the other level");
    }
  }
  for (const line of Object.keys(pulse.release)) {
    if (levelOf(pulse.enter, line) !== undefined) continue;
    const reason = `${line} is released but enter does not drive it`;
    incomplete(check, [...releasePath, line], "key", reason, "release only what enter drives");
  }
}

function checkFlips(check: SequenceCheck, step: HoldStep, path: ValuePath): void {
  // Nothing named, nothing known: the file leaves it to the model, and why it knows nothing is said there.
  if ([step.expect, step.flip.expect].some((expect) => Object.keys(expect).length === 0)) return;
  const flips = Object.entries(step.expect).some(([net, level]) => {
    const after = Object.hasOwn(step.flip.expect, net) ? step.flip.expect[net] : undefined;
    return after !== undefined && after !== level;
  });
  if (flips) return;
  const reason = "no net reads otherwise after the flip, so nothing is shown to flip";
  incomplete(check, [...path, "flip", "expect"], "key", reason, "expect the opposite state here");
}

function checkInactive(check: SequenceCheck, step: HoldStep, path: ValuePath): void {
  const inactivePath = [...path, "inactive"];
  for (const [part, pulse] of [
    ["enter", step],
    ["flip.enter", step.flip],
  ] as const) {
    for (const line of Object.keys(pulse.enter)) {
      const inactive = levelOf(step.inactive, line);
      const released = levelOf(pulse.release, line);
      if (released === undefined && inactive === undefined && step.move.includes(line)) continue;
      if (inactive === undefined) {
        const reason = `${line}, driven by ${part}, is not read as inactive, so a stuck contact would pass`;
        incomplete(check, inactivePath, "key", reason, `add ${line} to inactive`);
      } else if (released !== undefined && released !== inactive) {
        const reason = `${line} is released to ${released} by ${part.replace("enter", "release")}`;
        incomplete(check, [...inactivePath, line], "value", reason, "make the two agree");
      }
    }
  }
}

function checkMoves(check: SequenceCheck, step: HoldStep, path: ValuePath): void {
  step.move.forEach((line, index) => {
    const at = [...path, "move", index];
    if (!check.lines.has(line)) {
      check.problems.add(check.documents.sequence, at, {
        code: "NAME_UNKNOWN",
        reason: "the rig drives no such line",
        whatToDo: `name one of ${[...check.lines].sort().join(", ")}`,
        known: check.lines,
      });
    }
    if (levelOf(step.inactive, line) !== undefined) {
      incomplete(check, at, "value", "this line must stay inactive", "move only the other lines");
    }
    if (step.move.indexOf(line) !== index) {
      incomplete(check, at, "value", "this line is named already", "name each line once");
    }
  });
}

function checkTimes(check: SequenceCheck, step: HoldStep, path: ValuePath): void {
  const slowestMs = check.documents.board.value.slowestTimeConstantMs;
  const tooShort = (at: ValuePath, reason: string, whatToDo: string) =>
    check.problems.add(check.documents.sequence, [...path, ...at], {
      code: "TIME_TOO_SHORT",
      reason,
      whatToDo,
    });
  for (const [at, forMs] of [
    [["forMs"], step.forMs],
    [["flip", "forMs"], step.flip.forMs],
  ] as const) {
    if (forMs <= slowestMs) {
      const reason = `${milliseconds(forMs)} does not outlast the board's slowest time constant of ${milliseconds(slowestMs)}`;
      tooShort(at, reason, "hold longer, several times that");
    }
    if (step.light !== true && step.readEveryMs > forMs) {
      const reason = `read every ${milliseconds(step.readEveryMs)}, this hold of ${milliseconds(forMs)} would not be read`;
      tooShort(at, reason, "hold longer or read more often");
    }
  }
  checkReadingTime(check, step, tooShort);
  if (step.move.length === 0) return;
  if (step.moveEveryMs < RELAY_SETTLE_MS) {
    const reason = `${milliseconds(step.moveEveryMs)} is shorter than a relay needs (${milliseconds(RELAY_SETTLE_MS)})`;
    tooShort(["moveEveryMs"], reason, "move less often");
  }
  if (step.moveEveryMs > step.forMs) {
    const reason = `moved every ${milliseconds(step.moveEveryMs)}, nothing moves in ${milliseconds(step.forMs)}`;
    tooShort(["forMs"], reason, "hold longer or move more often");
  }
}

/** A set of readings over whole periods of the mains takes its time, and the next is due after it. */
function checkReadingTime(
  { documents: { rig } }: SequenceCheck,
  step: HoldStep,
  tooShort: (at: ValuePath, reason: string, whatToDo: string) => void,
): void {
  if (rig.value.mains === undefined || step.light === true) return;
  const lines = rig.value.channels.filter((channel) => "line" in channel).length;
  const nets = Math.max(Object.keys(step.expect).length, Object.keys(step.flip.expect).length);
  const setMs = (lines + nets) * readingMs(rig.value);
  if (step.readEveryMs >= setMs) return;
  const hum = `${rig.value.mains.hz} Hz`;
  const reason = `one set of readings over the mains of ${hum} takes ${milliseconds(setMs)}, longer than readEveryMs`;
  tooShort(["readEveryMs"], reason, "read less often, or expect fewer nets in this hold");
}

function checkStates(
  check: SequenceCheck,
  step: HoldStep,
  path: ValuePath,
  states: LineStates,
): void {
  for (const [line, inactive] of Object.entries(step.inactive)) {
    const level = states.level(line);
    if (level === undefined || level === inactive) continue;
    const reason = `${line} is ${level} when this hold begins, expected ${inactive}`;
    const whatToDo = `drive ${line} ${inactive} in a step before, or release it here`;
    incomplete(check, [...path, "inactive", line], "key", reason, whatToDo);
  }
}

function levelOf(set: LineLevels, line: string) {
  return Object.hasOwn(set, line) ? set[line] : undefined;
}
