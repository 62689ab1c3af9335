/** How long a set-up has been soaked with somebody at the bench: what a night without anybody rests on. */
import type { RunIndex } from "./open-index.ts";

/** Of a real bench; the files by which a rig and a board are the same ones. */
export interface SetUp {
  readonly rig: string;
  readonly rigSha256: string;
  readonly board: string;
}

/**
 * Time on power in attended soaks that ended as they should, ms. One that tripped, lost its link or was
 * never closed counts for nothing.
 *
 * @throws IndexFault
 */
export async function attendedMs(index: RunIndex, setUp: SetUp): Promise<number> {
  const rows = await index.ask((db) =>
    db
      .selectFrom("runs")
      .innerJoin("soaks", "soaks.run", "runs.run")
      .select("soaks.boardMs")
      .where("runs.rig", "=", setUp.rig)
      .where("runs.rigSha256", "=", setUp.rigSha256)
      .where("runs.board", "=", setUp.board)
      .where("runs.bench", "=", "port")
      .where("soaks.attendance", "=", "attended")
      .where("runs.seal", "=", "closed")
      .where("runs.cause", "in", ["completed", "stopped by the person"])
      .execute(),
  );
  return rows.reduce((sum, { boardMs }) => sum + boardMs, 0);
}
