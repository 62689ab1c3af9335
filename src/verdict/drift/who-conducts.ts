/** Which sections a level speaks for, by how the stages are joined. */
import type { DriftBoard, DriftStage } from "./drift-set.ts";

export interface LevelOwners {
  /** Sections whose plate is on the net: one of them conducts where it is low. */
  readonly sections: readonly string[];
  /**
   * Sections behind it whose own nets are not read: what they no longer give shows here alone, so they
   * cannot be parted from `sections`.
   */
  readonly behind: readonly string[];
}

export function ownersOf(net: string, { stages, measured }: DriftBoard): LevelOwners {
  const own = stages.filter(({ output }) => output === net);
  const behind = new Set<DriftStage>();
  const look = (stage: DriftStage): void => {
    for (const input of stage.inputs) {
      if (measured.includes(input)) continue;
      for (const driver of stages) {
        if (driver.output !== input || behind.has(driver) || own.includes(driver)) continue;
        behind.add(driver);
        look(driver);
      }
    }
  };
  for (const stage of own) look(stage);
  return {
    sections: sectionsOf(own),
    behind: sectionsOf([...behind]),
  };
}

/** Of the stages that are tube sections, their names: a diode gate passes on what others conduct. */
function sectionsOf(stages: readonly DriftStage[]): string[] {
  return stages.filter(({ position }) => position !== null).map(({ section }) => section);
}

/** A section whose net is not read, and with which it can only be seen together. */
export interface UnreadSection {
  readonly section: string;
  readonly net: string;
  /** Sections of the nets, read, that it drives; none: nothing of it is seen at all. */
  readonly seenWith: readonly string[];
}

export function unreadSections(board: DriftBoard): UnreadSection[] {
  const read = board.measured.map((net) => ownersOf(net, board));
  return board.stages
    .filter(({ output, position }) => position !== null && !board.measured.includes(output))
    .map(({ section, output }) => ({
      section,
      net: output,
      seenWith: [
        ...new Set(
          read.filter(({ behind }) => behind.includes(section)).flatMap(({ sections }) => sections),
        ),
      ],
    }));
}
