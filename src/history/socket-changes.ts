/** Two runs of one unit tube by tube: what stood in each socket then and now, and how its levels went. */
import type { PlaceRow } from "../store/run-index/tables.ts";
import type { SectionInRun } from "../store/run-index/tube-rows.ts";
import type { LevelChange } from "./compare-runs.ts";

export interface SocketChange {
  readonly position: string;
  /** Serials; null where no unit file named one. */
  readonly earlier: string | null;
  readonly now: string | null;
  readonly tube: "the same" | "another" | "not known";
  /** Changes of the nets that its sections drive. */
  readonly levels: readonly (LevelChange & { readonly section: string })[];
}

export function socketChanges(
  levels: readonly LevelChange[],
  boards: {
    readonly earlier: readonly PlaceRow[];
    readonly now: readonly PlaceRow[];
    readonly sections: readonly SectionInRun[];
  },
): SocketChange[] {
  return boards.now.map(({ position, serial: now }) => {
    const earlier = boards.earlier.find((one) => one.position === position)?.serial ?? null;
    const sections = boards.sections.filter((one) => one.position === position);
    return {
      position,
      earlier,
      now,
      tube:
        earlier === null || now === null ? "not known" : earlier === now ? "the same" : "another",
      levels: sections.flatMap(({ section, net }) =>
        levels.filter(({ channel }) => channel === net).map((level) => ({ ...level, section })),
      ),
    };
  });
}
