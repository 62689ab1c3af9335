/** What is known of a unit, less what hung on tubes that are no longer in it. */
import type { UnitHistory } from "../../events/unit-history.ts";
import type { DriftBoard } from "./drift-set.ts";
import { ownersOf } from "./who-conducts.ts";

/** Serials by position; a position without a serial is missing. */
export type TubesBySocket = ReadonlyMap<string, string>;

/**
 * Another tube goes with rails and heater in another way, so what was learned of a level is forgotten when one
 * of the tubes that make it is another. Where neither sheet has a serial nobody can tell, and it is kept.
 */
export function ofSameTubes(
  history: UnitHistory,
  board: DriftBoard,
  { before, now }: { readonly before: TubesBySocket; readonly now: TubesBySocket },
): UnitHistory {
  const levels = history.levels.filter(({ net }) => {
    const { sections, behind } = ownersOf(net, board);
    const of = [...sections, ...behind];
    return board.stages
      .filter(({ section }) => of.includes(section))
      .every(({ position }) => position === null || before.get(position) === now.get(position));
  });
  return { ...history, levels };
}
