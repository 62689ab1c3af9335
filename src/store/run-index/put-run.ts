/** Runs into the index and out of it, each in one transaction: a run is there whole or not at all. */
import type { Transaction } from "kysely";
import type { RunIndex } from "./open-index.ts";
import type { RunFacts, RunTables, UnreadableRow } from "./tables.ts";

/** What is new in the runs folder, and what is no longer there. */
export interface IndexChange {
  readonly runs: readonly RunFacts[];
  readonly unreadable: readonly UnreadableRow[];
  /** Names of runs whose folder is gone. */
  readonly gone: readonly string[];
}

/** Rows that go into one statement: SQLite takes 32766 values, and no row has as many as 30. */
const ROWS_AT_ONCE = 1000;

/** @throws IndexFault */
export async function changeIndex(index: RunIndex, change: IndexChange): Promise<void> {
  await index.change((inside) => apply(inside, change));
}

async function apply(db: Transaction<RunTables>, change: IndexChange): Promise<void> {
  const { runs, unreadable, gone } = change;
  const replaced = [
    ...gone,
    ...[...runs.map(({ run }) => run), ...unreadable].map(({ run }) => run),
  ];
  for (const names of pieces(replaced)) {
    await db.deleteFrom("runs").where("run", "in", names).execute();
    await db.deleteFrom("unreadable").where("run", "in", names).execute();
  }
  const units = runs.flatMap(({ run: { unit, board } }) =>
    unit === null ? [] : [{ unit, board }],
  );
  for (const rows of pieces(units)) {
    await db
      .insertInto("units")
      .values(rows)
      .onConflict((conflict) => conflict.doNothing())
      .execute();
  }
  const serials = runs.flatMap(({ places }) =>
    places.flatMap(({ serial }) => (serial === null ? [] : [{ serial }])),
  );
  for (const rows of pieces(serials)) {
    await db
      .insertInto("tubes")
      .values(rows)
      .onConflict((conflict) => conflict.doNothing())
      .execute();
  }
  const calibrations = runs.flatMap((one) => (one.calibration === null ? [] : [one.calibration]));
  for (const rows of pieces(calibrations)) {
    await db
      .insertInto("calibrations")
      .values(rows)
      .onConflict((conflict) => conflict.doNothing())
      .execute();
  }
  await insert(
    db,
    "runs",
    runs.map(({ run }) => run),
  );
  await insert(
    db,
    "places",
    runs.flatMap(({ places }) => places),
  );
  await insert(
    db,
    "sections",
    runs.flatMap(({ sections }) => sections),
  );
  await insert(
    db,
    "results",
    runs.flatMap(({ results }) => results),
  );
  await insert(
    db,
    "soaks",
    runs.flatMap(({ soak }) => (soak === null ? [] : [soak])),
  );
  await insert(
    db,
    "drifts",
    runs.flatMap(({ drifts }) => drifts),
  );
  await insert(
    db,
    "records",
    runs.flatMap(({ records }) => records),
  );
  await insert(db, "unreadable", unreadable);
  if (replaced.length > 0) await forgetUnnamed(db);
}

async function insert<Name extends keyof RunTables>(
  db: Transaction<RunTables>,
  table: Name,
  rows: readonly RunTables[Name][],
): Promise<void> {
  for (const some of pieces(rows)) {
    // The builder cannot see through the name of a table that is still open here.
    const values = some as unknown as never;
    await db.insertInto(table).values(values).execute();
  }
}

/** Units, tubes and calibrations that no run names any more. */
async function forgetUnnamed(db: Transaction<RunTables>): Promise<void> {
  await db
    .deleteFrom("units")
    .where(({ not, exists, selectFrom }) =>
      not(
        exists(
          selectFrom("runs")
            .select("runs.run")
            .whereRef("runs.unit", "=", "units.unit")
            .whereRef("runs.board", "=", "units.board"),
        ),
      ),
    )
    .execute();
  await db
    .deleteFrom("tubes")
    .where(({ not, exists, selectFrom }) =>
      not(
        exists(
          selectFrom("places").select("places.run").whereRef("places.serial", "=", "tubes.serial"),
        ),
      ),
    )
    .execute();
  await db
    .deleteFrom("calibrations")
    .where(({ not, exists, selectFrom }) =>
      not(
        exists(
          selectFrom("runs")
            .select("runs.run")
            .whereRef("runs.calibration", "=", "calibrations.id"),
        ),
      ),
    )
    .execute();
}

function* pieces<Row>(rows: readonly Row[]): Generator<Row[]> {
  for (let at = 0; at < rows.length; at += ROWS_AT_ONCE) yield rows.slice(at, at + ROWS_AT_ONCE);
}
