/** Soaks of a unit, newest first: what the next one may be taught by. */
import { nameLength } from "./name-length.ts";
import type { RunIndex } from "./open-index.ts";
import type { RunRow } from "./tables.ts";

/** What makes two soaks alike enough: the same unit, on the same rig, on the same kind of bench. */
export type SameUnit = Pick<RunRow, "board" | "revision" | "rig" | "bench" | "seed"> & {
  readonly unit: string;
};

/** Closed ones. @returns names of their folders @throws IndexFault */
export async function earlierSoaks(
  index: RunIndex,
  { unit, board, revision, rig, bench, seed }: SameUnit,
  most: number,
): Promise<string[]> {
  const rows = await index.ask((db) =>
    db
      .selectFrom("runs")
      .select("run")
      .where("unit", "=", unit)
      .where("board", "=", board)
      .where("revision", "=", revision)
      .where("rig", "=", rig)
      .where("bench", "=", bench)
      .where("seed", "is", seed)
      .where("mode", "=", "soak")
      .where("seal", "=", "closed")
      .orderBy("openedMs", "desc")
      .orderBy(nameLength, "desc")
      .orderBy("run", "desc")
      .limit(most)
      .execute(),
  );
  return rows.map(({ run }) => run);
}
