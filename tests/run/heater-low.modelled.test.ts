/** The shipped latch on the bench for nights, its heaters lowered before and after some cycles. */
import { describe, expect, it } from "vitest";
import { loadScenario, type Scenario } from "../../src/formats/scenario.schema.ts";
import { assessDrift } from "../../src/verdict/drift/assess-drift.ts";
import { DriftFeed, driftBoardOf } from "../../src/verdict/drift/drift-feed.ts";
import { shippedProof } from "../bench/emulated-run.ts";
import { soakInMemory } from "../bench/soak-in-memory.ts";

const board = "flasher-latch";

function scenario(lines: readonly string[]): Scenario {
  const text = [
    "format: holdfast-scenario",
    "version: 1",
    "scenario: cooler",
    "seed: 5",
    ...lines,
    "",
  ].join("\n");
  const loaded = loadScenario(text, "cooler.yaml");
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.problems));
  return loaded.document.value;
}

async function soaked(seed: number, lines: readonly string[]) {
  const feed = new DriftFeed();
  const { end } = await soakInMemory(
    { board, seed, scenario: scenario(lines), order: { forMs: 20 * 60_000 } },
    ({ event }) => feed.take(event),
  );
  const { plan } = await shippedProof(board);
  const report = assessDrift(feed.sets, driftBoardOf(plan), { plannedHours: null, history: null });
  return { verdict: end.verdict, report };
}

describe("heaters low on the modelled bench", () => {
  it("name the section whose cathode loses activity, at whose own heat nothing is to be seen yet", async () => {
    const { verdict, report } = await soaked(1, [
      "sections: [{ section: V1b, lossPercentPerHour: 6, loses: activity }]",
    ]);
    expect(verdict).toBe("pass");
    expect(report.judged).toBe(false);
    expect(report.findings).toMatchObject([
      { kind: "weak when cooler", net: "Q", sections: ["V1b"] },
    ]);
  });

  it.each([2, 3])(
    "say nothing of a healthy latch whose supplies wander (seed %d)",
    async (seed) => {
      const { report } = await soaked(seed, [
        "supplies: { heater: { walkPercent: 1 }, bias: { walkPercent: 1 }, plate: { walkPercent: 1 } }",
      ]);
      expect(report.findings).toEqual([]);
      expect(report.heaterLow?.levels).toHaveLength(2);
    },
  );
});
