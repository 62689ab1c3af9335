/** From the steps of a sequence file, with repeats and notes, to one flat list. */
import type { ExpectedClasses, HoldStep, PatternStep, PlannedStep } from "../events/plan.ts";
import type {
  Sequence,
  SequenceHold,
  SequencePattern,
  SequenceSoak,
} from "../formats/sequence.schema.ts";
import type { ValuePath } from "../formats/yaml-tree.ts";

/**
 * Most steps of one pass. The whole plan is sealed in the journal and listed on the screen: at
 * some 200 bytes a step this is 20 MB, and at 115 ms a step three hours. More belongs in cycles.
 */
export const STEPS_MAX = 100_000;

/** A step and where its text is written. */
export interface PlacedStep<S extends PlannedStep = PlannedStep> {
  /** Where the file names no class, `expect` is empty and `modelled` set, until the model has filled it in. */
  readonly step: S;
  readonly path: ValuePath;
  /** The file says that nothing changes: the classes are those of the step before. */
  readonly unchanged?: true | undefined;
}

/** Steps that one pass would have, counted without building them. */
export function countSteps(sequence: Sequence): number {
  let count = 0;
  for (const entry of sequence.steps) {
    if ("repeat" in entry) {
      count += entry.repeat * entry.steps.reduce((sum, inner) => sum + stepsOf(inner), 0);
    } else count += stepsOf(entry);
  }
  return count;
}

/**
 * One flat list of steps. A repeated step is named `set (2 of 10)`. A note that stands alone goes
 * with the step after it, or with the last step when none follows.
 */
export function flattenSteps(sequence: Sequence): PlacedStep[] {
  const flat: PlacedStep[] = [];
  let waiting: string[] = [];
  const take = (entry: PlainStep, path: ValuePath, round: string) => {
    if (isNote(entry)) {
      waiting.push(entry.note);
      return;
    }
    const note = [...waiting, ...(entry.note === undefined ? [] : [entry.note])].join(" ");
    waiting = [];
    if ("hold" in entry && entry.lightMs !== undefined) {
      const step = lightHold(entry, entry.lightMs, flat.length, round);
      flat.push({ step, path, ...unchangedOf(entry) });
    }
    const step = planned(entry, flat.length, round, note === "" ? null : note);
    flat.push({ step, path, ...unchangedOf(entry) });
  };
  sequence.steps.forEach((entry, index) => {
    if (!("repeat" in entry)) {
      take(entry, ["steps", index], "");
      return;
    }
    for (let round = 1; round <= entry.repeat; round += 1) {
      entry.steps.forEach((inner, innerIndex) => {
        take(inner, ["steps", index, "steps", innerIndex], ` (${round} of ${entry.repeat})`);
      });
    }
  });
  const last = flat.at(-1);
  if (last !== undefined && waiting.length > 0) {
    const note = [last.step.note, ...waiting].filter((text) => text !== null).join(" ");
    flat[flat.length - 1] = { ...last, step: { ...last.step, note } };
  }
  return flat;
}

/** The steps of one cycle of a soak, each where it is written. */
export function soakSteps({ cycle }: SequenceSoak): PlacedStep<PatternStep>[] {
  return cycle.map((entry, index) => ({
    step: patternStep(entry, index, "", entry.note ?? null),
    path: ["soak", "cycle", index],
    ...unchangedOf(entry),
  }));
}

type PlainStep = SequencePattern | SequenceHold | { readonly note: string };

function isNote(entry: object): entry is { readonly note: string } {
  return !("step" in entry) && !("hold" in entry);
}

function stepsOf(entry: PlainStep): number {
  if (isNote(entry)) return 0;
  return "hold" in entry && entry.lightMs !== undefined ? 2 : 1;
}

/** The hold before the hold: the same in everything, but nothing reads it while it holds. */
function lightHold(
  entry: SequenceHold,
  lightMs: number,
  index: number,
  round: string,
): PlannedStep {
  const { flip, note, ...step } = holdStep(entry, index, round, null);
  return {
    ...step,
    name: `${entry.hold}, read at its ends${round}`,
    light: true,
    forMs: lightMs,
    readEveryMs: lightMs,
    flip: { ...flip, forMs: Math.min(flip.forMs, lightMs) },
    note,
  };
}

function planned(
  entry: SequencePattern | SequenceHold,
  index: number,
  round: string,
  note: string | null,
): PlannedStep {
  if ("step" in entry) return patternStep(entry, index, round, note);
  return holdStep(entry, index, round, note);
}

function holdStep(
  entry: SequenceHold,
  index: number,
  round: string,
  note: string | null,
): HoldStep {
  const { hold, enter, release, inactive, expect, flip, ...rest } = entry;
  const { note: _ownNote, lightMs: _itsMs, unchanged: _said, ...times } = rest;
  return {
    kind: "hold",
    index,
    name: hold + round,
    enter,
    release,
    inactive,
    ...classesOf(expect, entry),
    ...times,
    flip: {
      enter: flip.enter,
      release: flip.release,
      ...classesOf(flip.expect, {}),
      forMs: flip.forMs,
    },
    note,
  };
}

/** Classes as the file has them; empty and marked where the model is to fill them in. */
function classesOf(
  expect: ExpectedClasses | undefined,
  { unchanged }: { readonly unchanged?: true | undefined },
): Pick<PatternStep, "expect" | "modelled"> {
  if (expect !== undefined) return { expect };
  return unchanged ? { expect: {} } : { expect: {}, modelled: true };
}

function unchangedOf({ unchanged }: { readonly unchanged?: true | undefined }) {
  return unchanged ? ({ unchanged } as const) : {};
}

function patternStep(
  entry: SequencePattern,
  index: number,
  round: string,
  note: string | null,
): PatternStep {
  const { step, set, settleMs, expect } = entry;
  return {
    kind: "pattern",
    index,
    name: step + round,
    set,
    settleMs,
    ...classesOf(expect, entry),
    note,
  };
}
