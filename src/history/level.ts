/** What a run says of one net at one level: the value that is compared, and how well it is known. */
import type { LevelClass } from "../events/levels.ts";
import type { LevelRow } from "../store/run-index/runs-of.ts";

export interface Level {
  readonly channel: string;
  readonly expected: LevelClass;
  readonly volts: number;
  /** Mean of the readings kept one by one; of a run without them the worst case. */
  readonly of: "mean" | "worst case";
  /** Expanded uncertainty for 95 %, volts; null where it is not evaluated. */
  readonly expandedV: number | null;
}

/** Nets only: the level of a driven line is the rig's doing. */
export function levelsOf(results: readonly LevelRow[]): Level[] {
  return results.flatMap((result): Level[] => {
    const { channel, expected, meanV, worstV } = result;
    if (result.kind === "driven line") return [];
    if (meanV !== null) {
      const { meanExpandedV: expandedV } = result;
      return [{ channel, expected, volts: meanV, of: "mean", expandedV }];
    }
    if (worstV === null) return [];
    const { worstExpandedV: expandedV } = result;
    return [{ channel, expected, volts: worstV, of: "worst case", expandedV }];
  });
}

/** Which level it is, as a key. */
export function levelKey({ channel, expected }: Pick<Level, "channel" | "expected">): string {
  return `${channel} ${expected}`;
}
