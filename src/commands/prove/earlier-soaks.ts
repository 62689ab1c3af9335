/**
 * What earlier soaks of a unit taught of its levels, read before anything is switched on. Each soak keeps in
 * its journal what it knew, so the newest that could be judged speaks for all before it.
 */
import { existsSync } from "node:fs";
import { join } from "node:path";
import type { UnitSheet } from "../../events/events.ts";
import type { Plan } from "../../events/plan.ts";
import type { TaughtBefore, UnitHistory } from "../../events/unit-history.ts";
import { JournalReadError } from "../../journal/journal-fault.ts";
import { earlierSoaks, type SameUnit } from "../../store/run-index/earlier-soaks.ts";
import { IndexFault } from "../../store/run-index/index-fault.ts";
import { driftBoardOf } from "../../verdict/drift/drift-feed.ts";
import { ofSameTubes, type TubesBySocket } from "../../verdict/drift/same-tubes.ts";
import { withFreshIndex } from "../history/fresh-index.ts";
import { driftOf, type ReadSoak, readSoak, taughtBefore } from "../read-soak.ts";
import type { UnitOnBench } from "./unit-on-bench.ts";

export interface Taught {
  /** Null where there is nothing that would teach. */
  readonly taught: TaughtBefore | null;
  /** What is to be said of it. */
  readonly said: readonly string[];
}

/** Soaks looked at for one that was long enough to be judged. */
const LOOK_BACK = 10;

const NOTHING: Taught = { taught: null, said: [] };

/** A journal or an index that cannot be read is said, and the soak begins untaught. */
export async function taughtByEarlier(
  { unit, sheet }: UnitOnBench,
  given: {
    readonly plan: Plan;
    readonly runs: string;
    /** Of a simulated unit; null at a port. */
    readonly seed: number | null;
    readonly error: (line: string) => void;
  },
): Promise<Taught> {
  const { plan, runs, seed, error } = given;
  if (unit === null || !existsSync(runs)) return NOTHING;
  const { board, rig } = plan;
  const like: SameUnit = {
    unit,
    board: board.name,
    revision: board.revision,
    rig: rig.name,
    bench: seed === null ? "port" : "emulated",
    seed,
  };
  try {
    const io = { out: error, error };
    const names = await withFreshIndex(runs, io, (index) => earlierSoaks(index, like, LOOK_BACK));
    return newestTeaching(names, { plan, runs, sheet });
  } catch (fault) {
    if (!(fault instanceof IndexFault)) throw fault;
    return { taught: null, said: [`Earlier soaks of ${unit} teach nothing: ${fault.message}`] };
  }
}

function newestTeaching(
  names: readonly string[],
  { plan, runs, sheet }: { plan: Plan; runs: string; sheet: UnitSheet | null },
): Taught {
  const said: string[] = [];
  for (const name of names) {
    const soak = readOrSay(join(runs, name, "journal.ndjson"), (why) =>
      said.push(`Soak ${name} teaches nothing: ${why}`),
    );
    if (soak === null) continue;
    const known = taughtBefore(soak);
    const report = driftOf(soak, known);
    const history = report.judged ? report.learned : known;
    if (history === null) continue;
    const tubes = { before: tubesOf(soak.opened.unitSheet), now: tubesOf(sheet) };
    const kept = ofSameTubes(history, driftBoardOf(plan, sheet), tubes);
    if (kept.levels.length === 0) continue;
    return {
      taught: { newest: name, history: kept },
      said: [...said, taughtText(name, kept, history)],
    };
  }
  return { taught: null, said };
}

function readOrSay(journal: string, say: (why: string) => void): ReadSoak | null {
  try {
    return readSoak(journal);
  } catch (error) {
    if (!(error instanceof JournalReadError)) throw error;
    say(error.message);
    return null;
  }
}

function tubesOf(sheet: UnitSheet | null | undefined): TubesBySocket {
  const tubes = sheet?.tubes ?? [];
  return new Map(
    tubes.flatMap(({ position, serial }) => (serial === null ? [] : [[position, serial] as const])),
  );
}

function taughtText(name: string, kept: UnitHistory, all: UnitHistory): string {
  const { runs, levels } = kept;
  const gone = all.levels.length - levels.length;
  const swapped = gone === 0 ? "" : `; what hung on tubes that were swapped since is forgotten`;
  return `Drift is held against what ${runs} earlier ${runs === 1 ? "soak" : "soaks"} of this unit taught, the newest ${name}${swapped}.`;
}
