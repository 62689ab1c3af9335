/** The stops of a walk as grading takes them: what is driven, and which nets a person or the rig looks at. */
import type { GradeStop } from "../grade/fault-machines.ts";
import type { SequenceWalk, Walked } from "./walk.ts";

/** Rounds of a repeat that are graded: what they have not shown by then, more of the same will not. */
const ROUNDS_MAX = 4;

/**
 * Warm-up and pass; a soak's cycle is no part of a proof.
 *
 * @returns warm-up patterns twice, since the first round begins in the dark, then the pass
 */
export function gradeStops({
  exercise,
  pass,
}: Pick<SequenceWalk, "exercise" | "pass">): GradeStop[] {
  const visits = new Map<string, number>();
  const isGraded = ({ stop }: Walked): boolean => {
    const round = `${stop.path.join()} ${stop.label.replace(/ \(\d+ of \d+\)/, "")} ${stop.part}`;
    const before = visits.get(round) ?? 0;
    visits.set(round, before + 1);
    return before < ROUNDS_MAX;
  };
  return [...exercise, ...exercise, ...pass.filter(isGraded)].map(({ stop }) => ({
    label: stop.label,
    set: stop.set,
    reads: stop.expectPath === null ? [] : Object.keys(stop.expect),
  }));
}
