/** Runs and units as a list shows them. */
import type { LevelClass } from "../../events/levels.ts";
import { nameLength } from "./name-length.ts";
import type { RunIndex } from "./open-index.ts";
import type { ResultRow, RunRow, SoakRow, UnreadableRow } from "./tables.ts";

/** The required result that came nearest to its limit in a run, or went furthest beyond. */
export interface LeastRoom {
  readonly channel: string;
  readonly expected: LevelClass;
  readonly marginV: number;
  readonly expandedV: number | null;
}

export interface ListedRun extends RunRow {
  readonly leastRoom: LeastRoom | null;
  readonly soak: SoakRow | null;
  /** Heaters on, ms. */
  readonly heaterMs: number;
  /** Status of its newest record; null without one. */
  readonly record: string | null;
}

export interface ListedUnit {
  /** Null for runs of no named unit. */
  readonly unit: string | null;
  readonly board: string;
  readonly runs: number;
  readonly firstMs: number;
  /** Newest run of any kind, and newest closed proof of them. */
  readonly newest: RunRow;
  readonly proof: ListedRun | null;
}

/** Every unit, by name, then board; runs without a unit come last. @throws IndexFault */
export async function listUnits(index: RunIndex): Promise<ListedUnit[]> {
  const groups = await unitGroups(index);
  const newest = await runsNamed(index, await newestNames(index, "any"));
  const proofs = await listed(index, await runsNamed(index, await newestNames(index, "proof")));
  const newestBy = new Map(newest.map((run) => [unitKey(run), run]));
  const proofBy = new Map(proofs.map((run) => [unitKey(run), run]));
  return groups
    .flatMap((group) => {
      const last = newestBy.get(unitKey(group));
      if (last === undefined) return [];
      return [{ ...group, newest: last, proof: proofBy.get(unitKey(group)) ?? null }];
    })
    .sort(byUnit);
}

function unitKey({ unit, board }: Pick<RunRow, "unit" | "board">): string {
  return JSON.stringify([unit, board]);
}

function unitGroups(
  index: RunIndex,
): Promise<Pick<ListedUnit, "unit" | "board" | "runs" | "firstMs">[]> {
  return index.ask((db) =>
    db
      .selectFrom("runs")
      .select(({ fn }) => [
        "unit",
        "board",
        fn.countAll<number>().as("runs"),
        fn.min<number>("openedMs").as("firstMs"),
      ])
      .groupBy(["unit", "board"])
      .execute(),
  );
}

/** Of each unit and board. An index of the file has these columns, so that no row is read whole. */
async function newestNames(index: RunIndex, mode: "any" | "proof"): Promise<string[]> {
  const rows = await index.ask((db) =>
    db
      .selectFrom((inner) =>
        inner
          .selectFrom("runs")
          .select("run")
          .select(({ fn }) =>
            fn
              .agg<number>("row_number")
              .over((over) =>
                over
                  .partitionBy(["unit", "board"])
                  .orderBy("openedMs", "desc")
                  .orderBy(nameLength, "desc")
                  .orderBy("run", "desc"),
              )
              .as("place"),
          )
          .$if(mode === "proof", (query) =>
            query.where("mode", "=", "proof").where("seal", "=", "closed"),
          )
          .as("placed"),
      )
      .select("run")
      .where("place", "=", 1)
      .execute(),
  );
  return rows.map(({ run }) => run);
}

async function runsNamed(index: RunIndex, names: readonly string[]): Promise<RunRow[]> {
  const rows: RunRow[] = [];
  for (let at = 0; at < names.length; at += NAMES_AT_ONCE) {
    const some = names.slice(at, at + NAMES_AT_ONCE);
    rows.push(
      ...(await index.ask((db) =>
        db.selectFrom("runs").selectAll().where("run", "in", some).execute(),
      )),
    );
  }
  return rows;
}

function byUnit(one: ListedUnit, other: ListedUnit): number {
  if ((one.unit === null) !== (other.unit === null)) return one.unit === null ? 1 : -1;
  return (
    (one.unit ?? "").localeCompare(other.unit ?? "", "en", { numeric: true }) ||
    one.board.localeCompare(other.board, "en")
  );
}

/** Runs of one unit, newest first. @throws IndexFault */
export async function runsOfUnit(index: RunIndex, unit: string): Promise<ListedRun[]> {
  const runs = await index.ask((db) =>
    db
      .selectFrom("runs")
      .selectAll()
      .where("unit", "=", unit)
      .orderBy("openedMs", "desc")
      .orderBy(nameLength, "desc")
      .orderBy("run", "desc")
      .execute(),
  );
  return listed(index, runs);
}

/** @returns null where there is no such run @throws IndexFault */
export async function runByName(index: RunIndex, run: string): Promise<ListedRun | null> {
  const runs = await index.ask((db) =>
    db.selectFrom("runs").selectAll().where("run", "=", run).execute(),
  );
  return (await listed(index, runs))[0] ?? null;
}

/** Journals that cannot be read, with why. @throws IndexFault */
export function unreadableRuns(index: RunIndex): Promise<UnreadableRow[]> {
  return index.ask((db) => db.selectFrom("unreadable").selectAll().orderBy("run").execute());
}

/** Names that go into one statement: far below what SQLite takes. */
const NAMES_AT_ONCE = 5000;

/** Required results of these runs. @throws IndexFault */
export async function resultsOf(index: RunIndex, runs: readonly string[]): Promise<ResultRow[]> {
  const rows: ResultRow[] = [];
  for (let at = 0; at < runs.length; at += NAMES_AT_ONCE) {
    const names = runs.slice(at, at + NAMES_AT_ONCE);
    rows.push(
      ...(await index.ask((db) =>
        db.selectFrom("results").selectAll().where("run", "in", names).execute(),
      )),
    );
  }
  return rows;
}

/** What levels of a net are made of. */
export type LevelRow = Pick<
  ResultRow,
  | "run"
  | "channel"
  | "kind"
  | "expected"
  | "failed"
  | "worstV"
  | "worstExpandedV"
  | "meanV"
  | "meanExpandedV"
>;

/** Low levels of nets in these runs: what a weak tube shows in. @throws IndexFault */
export async function lowsOf(index: RunIndex, runs: readonly string[]): Promise<LevelRow[]> {
  const rows: LevelRow[] = [];
  for (let at = 0; at < runs.length; at += NAMES_AT_ONCE) {
    const names = runs.slice(at, at + NAMES_AT_ONCE);
    rows.push(
      ...(await index.ask((db) =>
        db
          .selectFrom("results")
          .select([
            "run",
            "channel",
            "kind",
            "expected",
            "failed",
            "worstV",
            "worstExpandedV",
            "meanV",
            "meanExpandedV",
          ])
          .where("run", "in", names)
          .where("expected", "=", "low")
          .where("kind", "=", "net")
          .execute(),
      )),
    );
  }
  return rows;
}

async function listed(index: RunIndex, runs: readonly RunRow[]): Promise<ListedRun[]> {
  const listedRuns: ListedRun[] = [];
  for (let at = 0; at < runs.length; at += NAMES_AT_ONCE) {
    listedRuns.push(...(await listedPiece(index, runs.slice(at, at + NAMES_AT_ONCE))));
  }
  return listedRuns;
}

async function listedPiece(index: RunIndex, runs: readonly RunRow[]): Promise<ListedRun[]> {
  const names = runs.map(({ run }) => run);
  const { soaks, hours, records, rooms } = await index.ask(async (db) => ({
    soaks: await db.selectFrom("soaks").selectAll().where("run", "in", names).execute(),
    hours: await db
      .selectFrom("places")
      .select(({ fn }) => ["run", fn.max<number>("heaterMs").as("heaterMs")])
      .where("run", "in", names)
      .groupBy("run")
      .execute(),
    records: await db
      .selectFrom("records")
      .select(["run", "status"])
      .where("run", "in", names)
      .orderBy("folder")
      .execute(),
    // A driven line's level is the rig's doing.
    rooms: await db
      .selectFrom("results")
      .select(["run", "channel", "expected", "marginV", "worstExpandedV"])
      .where("run", "in", names)
      .where("kind", "=", "net")
      .execute(),
  }));
  const room = leastRooms(rooms);
  const soakBy = new Map(soaks.map((soak) => [soak.run, soak]));
  const hoursBy = new Map(hours.map(({ run, heaterMs }) => [run, heaterMs]));
  const recordBy = new Map(records.map(({ run, status }) => [run, status]));
  return runs.map((run) => ({
    ...run,
    leastRoom: room.get(run.run) ?? null,
    soak: soakBy.get(run.run) ?? null,
    heaterMs: hoursBy.get(run.run) ?? 0,
    record: recordBy.get(run.run) ?? null,
  }));
}

function leastRooms(
  results: readonly Pick<
    ResultRow,
    "run" | "channel" | "expected" | "marginV" | "worstExpandedV"
  >[],
): Map<string, LeastRoom> {
  const least = new Map<string, LeastRoom>();
  for (const { run, channel, expected, marginV, worstExpandedV } of results) {
    if (marginV === null) continue;
    const before = least.get(run);
    if (before !== undefined && before.marginV <= marginV) continue;
    least.set(run, { channel, expected, marginV, expandedV: worstExpandedV });
  }
  return least;
}
