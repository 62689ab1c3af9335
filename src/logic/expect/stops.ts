/**
 * Where a sequence comes to rest, one after the other: every moment at which lines have been moved and the
 * board is left to settle. Readings are taken at some of them.
 */
import type {
  ExpectedClasses,
  HoldStep,
  LineLevels,
  PatternStep,
  PlannedStep,
  WarmUpExercise,
} from "../../events/plan.ts";
import type { ValuePath } from "../../formats/yaml-tree.ts";

/** A step and where its text is written in the sequence file. */
export interface StepAt<S extends PlannedStep = PlannedStep> {
  readonly step: S;
  readonly path: ValuePath;
}

type StopPart =
  /** A warm-up pattern. */
  | "exercise"
  | "pattern"
  /** A hold's lines are driven; nothing is read. */
  | "entered"
  /** Released, and read from here on. */
  | "held"
  /** One of the other lines has been moved while the state is held. */
  | "moved"
  /** The moved lines are back where they stood; nothing is read. */
  | "back"
  /** The opposite input is driven; nothing is read. */
  | "flipping"
  | "flipped";

export interface Stop {
  readonly part: StopPart;
  /** Whether it belongs to the hold's second half. */
  readonly flip: boolean;
  /** As a person finds it in the file. */
  readonly label: string;
  /** Lines driven to come here, all at once. */
  readonly set: LineLevels;
  /** Of the entry in the sequence file. */
  readonly path: ValuePath;
  /** Where its expectation is written, or would be; null where nothing is read. */
  readonly expectPath: ValuePath | null;
  /** As the plan has it; empty where nothing is read, or where the model is asked. */
  readonly expect: ExpectedClasses;
  /** Number of the step, from 0; null for a warm-up pattern. */
  readonly step: number | null;
}

export function exerciseStop({ set, pullsLow }: WarmUpExercise, index: number): Stop {
  const path = ["warmUp", "exercise", index];
  return {
    part: "exercise",
    flip: false,
    label: `warm-up pattern ${index + 1}`,
    set,
    path,
    expectPath: [...path, "pullsLow"],
    expect: Object.fromEntries(pullsLow.map((net) => [net, "low"])),
    step: null,
  };
}

/**
 * Stops of one step.
 *
 * @param levelOf level of a line as the step before left it: what a hold moves, it moves from there
 */
export function stopsOf(
  { step, path }: StepAt,
  levelOf: (line: string) => "low" | "high" | undefined,
): Stop[] {
  return step.kind === "hold" ? holdStops(step, path, levelOf) : [patternStop(step, path)];
}

function patternStop({ name, set, expect, index }: PatternStep, path: ValuePath): Stop {
  const label = `step "${name}"`;
  const expectPath = [...path, "expect"];
  return { part: "pattern", flip: false, label, set, path, expectPath, expect, step: index };
}

function holdStops(
  step: HoldStep,
  path: ValuePath,
  levelOf: (line: string) => "low" | "high" | undefined,
): Stop[] {
  const name = `hold "${step.name}"`;
  const levels = new Map<string, "low" | "high" | undefined>();
  const at = (line: string) => (levels.has(line) ? levels.get(line) : levelOf(line));
  const apply = (set: LineLevels) => {
    for (const [line, level] of Object.entries(set)) levels.set(line, level);
  };
  const half = (flip: boolean): Stop[] => {
    const { enter, release, expect, forMs } = flip ? step.flip : step;
    const expectPath = flip ? [...path, "flip", "expect"] : [...path, "expect"];
    const read = { flip, path, expectPath, expect, step: step.index };
    const unread = { ...read, expectPath: null, expect: {} };
    apply(enter);
    apply(release);
    const stops: Stop[] = [
      {
        ...unread,
        part: flip ? "flipping" : "entered",
        label: `${name}, ${flip ? "flipping" : "entered"}`,
        set: enter,
      },
      {
        ...read,
        part: flip ? "flipped" : "held",
        label: `${name}, ${flip ? "flipped" : "held"}`,
        set: release,
      },
    ];
    const stood: Record<string, "low" | "high"> = {};
    for (let move = 0; move < movesOf(step, forMs); move++) {
      const line = step.move[move % step.move.length] ?? "";
      const from = at(line) ?? "low";
      const to = from === "high" ? "low" : "high";
      stood[line] ??= from;
      apply({ [line]: to });
      const label = `${name}, ${flip ? "flipped" : "held"}, ${line} moved ${to}`;
      stops.push({ ...read, part: "moved", label, set: { [line]: to } });
    }
    const back = Object.fromEntries(
      Object.entries(stood).filter(([line, was]) => at(line) !== was),
    );
    if (Object.keys(back).length > 0) {
      apply(back);
      stops.push({ ...unread, part: "back", label: `${name}, moved lines back`, set: back });
    }
    return stops;
  };
  return [...half(false), ...half(true)];
}

/** Moves a hold makes, as far as they differ: after each line has gone there and back they repeat. */
function movesOf({ move, moveEveryMs }: HoldStep, forMs: number): number {
  if (move.length === 0) return 0;
  return Math.min(Math.max(0, Math.ceil(forMs / moveEveryMs) - 1), 2 * move.length);
}
