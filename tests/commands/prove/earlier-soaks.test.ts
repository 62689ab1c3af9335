/** What a soak is taught before it begins: by which soaks, and what is forgotten again. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { taughtByEarlier } from "../../../src/commands/prove/earlier-soaks.ts";
import type { UnitSheet } from "../../../src/events/events.ts";
import { driftingSoak, type SoakedUnit, sheetWith } from "../../journal/drifting-soak.ts";
import { latchPlan, opened } from "../../journal/latch-run.ts";
import type { MadeNight } from "../../verdict/drift/made-night.ts";
import { type RunsFolder, runsFolder } from "../history/runs-folder.ts";

let runs: RunsFolder;
beforeEach(() => {
  runs = runsFolder();
});
afterEach(() => runs.remove());

const SEED = opened.kind === "run-opened" ? opened.seed : null;

function put(run: string, night: MadeNight, more: SoakedUnit = {}): void {
  runs.put(
    run,
    driftingSoak(night, more).map(({ event }) => event),
  );
}

function taught({
  unit = "FL-07",
  sheet = null,
  seed = SEED,
}: {
  unit?: string | null;
  sheet?: UnitSheet | null;
  seed?: number | null;
} = {}) {
  return taughtByEarlier(
    { unit, sheet, file: null, warnings: [] },
    { plan: latchPlan, runs: runs.path, seed, error: () => undefined },
  );
}

describe("what earlier soaks teach", () => {
  it("is what the newest one that could be judged left, and says which that was", async () => {
    put("2026-05-01-a", { seed: "a", unit: "x" });
    put("2026-05-01-a-2", { seed: "short", unit: "x", hours: 2 });
    const { taught: found, said } = await taught();
    expect(found).toMatchObject({ newest: "2026-05-01-a", history: { runs: 1 } });
    expect(found?.history.levels.map(({ net, class: level }) => `${net} ${level}`).sort()).toEqual([
      "Q high",
      "Q low",
      "QN high",
      "QN low",
    ]);
    expect(said).toEqual([
      "Drift is held against what 1 earlier soak of this unit taught, the newest 2026-05-01-a.",
    ]);
  });

  it("goes from soak to soak: each knows what the one before it knew", async () => {
    put("2026-05-01-a", { seed: "a", unit: "x" });
    const first = (await taught()).taught;
    if (first === null) throw new Error("the first soak taught nothing");
    put("2026-05-01-a-2", { seed: "b", unit: "x" }, { taught: first });
    const second = (await taught()).taught;
    expect(second).toMatchObject({ newest: "2026-05-01-a-2", history: { runs: 2 } });
    const spread = (of: typeof second) => of?.history.levels[0]?.covariance[0] ?? 0;
    expect(spread(second)).toBeLessThan(spread(first));
  });

  it("keeps the older knowledge of a level that drifted", async () => {
    put("2026-05-01-a", { seed: "a", unit: "x" });
    const first = (await taught()).taught;
    if (first === null) throw new Error("the first soak taught nothing");
    put("2026-05-01-a-2", { seed: "b", unit: "x", loss: { V1a: 0.05 } }, { taught: first });
    const second = (await taught()).taught;
    const of = (levels: typeof first.history.levels) =>
      levels.find(({ net, class: level }) => net === "QN" && level === "low");
    expect(of(second?.history.levels ?? [])).toEqual(of(first.history.levels));
  });

  it("is forgotten with a tube that was swapped since", async () => {
    put("2026-05-01-a", { seed: "a" }, { sheet: sheetWith("LV-T031") });
    expect((await taught({ sheet: sheetWith("LV-T031") })).taught).not.toBeNull();
    expect((await taught({ sheet: sheetWith("LV-T032") })).taught).toBeNull();
    expect((await taught()).taught).toBeNull();
  });

  it("is nothing for another unit, another simulated one, a unit without a name, or a soak cut off", async () => {
    put("2026-05-01-a", { seed: "a" });
    expect((await taught({ unit: "FL-08" })).taught).toBeNull();
    expect((await taught({ seed: 99 })).taught).toBeNull();
    expect((await taught({ seed: null })).taught).toBeNull();
    expect((await taught({ unit: null })).taught).toBeNull();
    runs.remove();
    expect((await taught()).taught).toBeNull();
    runs = runsFolder();
    put("2026-05-01-b", { seed: "b" }, { isOver: false });
    expect((await taught()).taught).toBeNull();
  });

  it("never stands in the way: an index or a journal that cannot be read is said, and the soak begins", async () => {
    put("2026-05-01-a", { seed: "a" });
    const { openIndex, indexPath } = await import("../../../src/store/run-index/open-index.ts");
    await (await openIndex(runs.path)).close();
    writeFileSync(indexPath(runs.path), "SQLite format 3\0 and then nothing of it");
    expect((await taught()).taught?.newest).toBe("2026-05-01-a");
    writeFileSync(join(runs.path, "2026-05-01-a", "journal.ndjson"), "no journal\n");
    const { taught: found, said } = await taught();
    expect(found).toBeNull();
    expect(said).toEqual([
      expect.stringMatching(/^Soak 2026-05-01-a teaches nothing: Expected holdfast-journal/),
    ]);
    put("2026-04-30-b", { seed: "b" });
    expect((await taught()).taught?.newest).toBe("2026-04-30-b");
  });
});
