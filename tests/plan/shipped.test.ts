/** Everything that ships under sequences/ resolves, and its notes and claims are as they must be. */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { loadProof } from "../../src/commands/proof-folder.ts";
import type { Plan } from "../../src/events/plan.ts";
import { problemLines } from "../../src/formats/problem.ts";

const root = join(import.meta.dirname, "../../sequences");
const boards = readdirSync(root, { withFileTypes: true })
  .filter((entry) => entry.isDirectory())
  .map((entry) => entry.name);

/** Whether some stage is fed, by way of others, from its own output. */
function keepsState(stages: Plan["stages"]): boolean {
  const reach = (net: string, seen: ReadonlySet<string>): boolean =>
    stages
      .filter(({ inputs }) => inputs.includes(net))
      .some(({ output }) => seen.has(output) || reach(output, new Set([...seen, output])));
  return stages.some(({ output }) => reach(output, new Set([output])));
}

describe("a shipped proof", () => {
  it("is there for latches, a divider, an adder and a ring", () => {
    expect(boards).toEqual([
      "blast-ring",
      "flasher-latch",
      "fog-divider",
      "sector-latch",
      "watch-adder",
    ]);
  });

  it.each(boards)("%s resolves and is named like its folder", async (name) => {
    const result = await loadProof(join(root, name));
    expect(result.ok ? [] : problemLines(result.problems)).toEqual([]);
    if (!result.ok) return;
    const { plan, board, circuit } = result.proof;
    expect(plan.board.name).toBe(name);
    expect(board.notes).toMatch(/load line/i);
    expect(circuit).not.toBeNull();
    expect(plan.rails.map((rail) => rail.rail)).toEqual(["heater", "bias", "plate"]);
    expect(plan.rails[2]?.ceilingV).toBeLessThan(60);
  });

  it.each(boards)(
    "%s, if it keeps a state, holds both for 120 s or more as a load moves",
    async (name) => {
      const result = await loadProof(join(root, name));
      if (result.ok && !keepsState(result.proof.plan.stages)) return;
      const holds = result.ok ? result.proof.plan.steps.filter((step) => step.kind === "hold") : [];
      const moved = holds.filter((hold) => hold.move.length > 0);
      expect(moved.some((hold) => hold.forMs + hold.flip.forMs >= 120_000)).toBe(true);
    },
  );
});
