/** What a run is held against: the run before it, a baseline, and the sisters of its unit. */
import { nameLength } from "./name-length.ts";
import type { RunIndex } from "./open-index.ts";
import type { RunRow } from "./tables.ts";

/** Closed proofs of the same unit, board and revision on the same kind of bench, newest first. @throws IndexFault */
export function proofsLike(index: RunIndex, run: RunRow): Promise<RunRow[]> {
  const { unit } = run;
  if (unit === null) return Promise.resolve([]);
  return index.ask((db) =>
    db
      .selectFrom("runs")
      .selectAll()
      .where("unit", "=", unit)
      .where("board", "=", run.board)
      .where("revision", "=", run.revision)
      .where("bench", "=", run.bench)
      .where("mode", "=", "proof")
      .where("seal", "=", "closed")
      .orderBy("openedMs", "desc")
      .orderBy(nameLength, "desc")
      .orderBy("run", "desc")
      .execute(),
  );
}

/** The newest closed proof of every other unit of the same board, revision and kind of bench. @throws IndexFault */
export async function sistersOf(index: RunIndex, run: RunRow): Promise<RunRow[]> {
  const newest = await newestProofs(index, run);
  return newest.filter(({ unit }) => unit !== run.unit);
}

/** The newest closed proof of every unit of one board, revision and kind of bench. @throws IndexFault */
export function newestProofs(
  index: RunIndex,
  { board, revision, bench }: Pick<RunRow, "board" | "revision" | "bench">,
): Promise<RunRow[]> {
  return index.ask((db) =>
    db
      .selectFrom("runs")
      .selectAll()
      .where("run", "in", (inner) =>
        inner
          .selectFrom((runs) =>
            runs
              .selectFrom("runs")
              .select("run")
              .select(({ fn }) =>
                fn
                  .agg<number>("row_number")
                  .over((over) =>
                    over
                      .partitionBy("unit")
                      .orderBy("openedMs", "desc")
                      .orderBy(nameLength, "desc")
                      .orderBy("run", "desc"),
                  )
                  .as("place"),
              )
              .where("unit", "is not", null)
              .where("board", "=", board)
              .where("revision", "=", revision)
              .where("bench", "=", bench)
              .where("mode", "=", "proof")
              .where("seal", "=", "closed")
              .as("placed"),
          )
          .select("placed.run")
          .where("place", "=", 1),
      )
      .execute(),
  );
}

/** Runs that a person marked, in the order of the file. @throws IndexFault */
export async function markedBaselines(index: RunIndex): Promise<string[]> {
  const rows = await index.ask((db) =>
    db.selectFrom("baselines").select("run").orderBy("place").execute(),
  );
  return rows.map(({ run }) => run);
}
