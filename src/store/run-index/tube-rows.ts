/** Where tubes were, run by run, and what a person wrote of them. */
import type { LevelClass } from "../../events/levels.ts";
import { nameLength } from "./name-length.ts";
import type { RunIndex } from "./open-index.ts";
import type { DriftRow, PlaceRow, RunRow, TubeNoteRow } from "./tables.ts";

/** A tube with a serial in a socket of one run. */
export interface TubeInRun
  extends Pick<
    RunRow,
    "run" | "mode" | "seal" | "bench" | "board" | "revision" | "opened" | "openedMs"
  > {
  readonly serial: string;
  readonly tube: string | null;
  readonly unit: string;
  readonly position: string;
  readonly heaterMs: number;
  readonly plateMs: number;
  readonly heaterOnlyMs: number;
}

/** Oldest first. @param serial one tube; null for all @throws IndexFault */
export async function tubesInRuns(index: RunIndex, serial: string | null): Promise<TubeInRun[]> {
  const rows = await index.ask((db) =>
    db
      .selectFrom("places")
      .innerJoin("runs", "runs.run", "places.run")
      .select([
        "places.serial",
        "places.tube",
        "places.position",
        "places.heaterMs",
        "places.plateMs",
        "places.heaterOnlyMs",
        "runs.run",
        "runs.mode",
        "runs.seal",
        "runs.bench",
        "runs.unit",
        "runs.board",
        "runs.revision",
        "runs.opened",
        "runs.openedMs",
      ])
      .where("places.serial", "is not", null)
      .$if(serial !== null, (query) => query.where("places.serial", "=", serial))
      .orderBy("runs.openedMs")
      .orderBy(nameLength)
      .orderBy("runs.run")
      .orderBy("places.position")
      .execute(),
  );
  return rows.flatMap(({ serial: found, unit, ...row }) =>
    found === null || unit === null ? [] : [{ ...row, serial: found, unit }],
  );
}

/** A section of a socket and the net it drives, in one run. */
export interface SectionInRun {
  readonly run: string;
  readonly position: string;
  readonly section: string;
  readonly stage: string;
  readonly net: string;
  readonly conductingMs: number;
  readonly cutOffMs: number;
}

/** @throws IndexFault */
export function sectionsOf(index: RunIndex, runs: readonly string[]): Promise<SectionInRun[]> {
  if (runs.length === 0) return Promise.resolve([]);
  return index.ask((db) =>
    db
      .selectFrom("sections")
      .selectAll()
      .where("run", "in", [...runs])
      .execute(),
  );
}

/** Sections that soaks laid drift to, of runs that were judged for it or found something without, oldest first. */
export interface DriftInRun {
  readonly run: string;
  /** Empty where nothing drifted. */
  readonly drifts: readonly DriftRow[];
}

/** @throws IndexFault */
export async function driftsOf(index: RunIndex): Promise<DriftInRun[]> {
  const { soaks, drifts } = await index.ask(async (db) => ({
    soaks: await db
      .selectFrom("soaks")
      .innerJoin("runs", "runs.run", "soaks.run")
      .select("soaks.run")
      .where(({ eb, exists, or, selectFrom }) =>
        or([
          eb("soaks.drift", "=", "judged"),
          exists(
            selectFrom("drifts").select("drifts.run").whereRef("drifts.run", "=", "soaks.run"),
          ),
        ]),
      )
      .orderBy("runs.openedMs")
      .orderBy(nameLength)
      .orderBy("runs.run")
      .execute(),
    drifts: await db.selectFrom("drifts").selectAll().orderBy("section").orderBy("net").execute(),
  }));
  return soaks.map(({ run }) => ({ run, drifts: drifts.filter((one) => one.run === run) }));
}

/** What the net of a section read in a run, at one level. */
export interface SectionLevel {
  readonly run: string;
  readonly opened: string;
  readonly section: string;
  readonly net: string;
  readonly expected: LevelClass;
  readonly volts: number | null;
  readonly limitV: number | null;
  readonly worstV: number | null;
  readonly expandedV: number | null;
}

/** Readings of a tube's sections over time, oldest first. @throws IndexFault */
export function levelsOfTube(index: RunIndex, serial: string): Promise<SectionLevel[]> {
  return index.ask((db) =>
    db
      .selectFrom("places")
      .innerJoin("runs", "runs.run", "places.run")
      .innerJoin("sections", (join) =>
        join
          .onRef("sections.run", "=", "places.run")
          .onRef("sections.position", "=", "places.position"),
      )
      .innerJoin("results", (join) =>
        join.onRef("results.run", "=", "places.run").onRef("results.channel", "=", "sections.net"),
      )
      .select([
        "runs.run",
        "runs.opened",
        "sections.section",
        "sections.net",
        "results.expected",
        "results.meanV as volts",
        "results.limitV",
        "results.worstV",
        "results.worstExpandedV as expandedV",
      ])
      .where("places.serial", "=", serial)
      .orderBy("runs.openedMs")
      .orderBy(nameLength)
      .orderBy("runs.run")
      .execute(),
  );
}

/** In the order of the file. @param serial one tube; null for all @throws IndexFault */
export function tubeNotes(index: RunIndex, serial: string | null): Promise<TubeNoteRow[]> {
  return index.ask((db) =>
    db
      .selectFrom("tubeNotes")
      .selectAll()
      .$if(serial !== null, (query) => query.where("serial", "=", serial ?? ""))
      .orderBy("serial")
      .orderBy("place")
      .execute(),
  );
}

/** Sockets of these runs, with tubes that bear no serial too. @throws IndexFault */
export function placesOf(index: RunIndex, runs: readonly string[]): Promise<PlaceRow[]> {
  return index.ask((db) =>
    db
      .selectFrom("places")
      .selectAll()
      .where("run", "in", [...runs])
      .orderBy("position")
      .execute(),
  );
}
