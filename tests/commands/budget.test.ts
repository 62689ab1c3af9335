/** `budget` as the program runs it, on the shipped latch. */
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { type AskedBudget, budgetCommand } from "../../src/commands/budget.ts";

const sequences = join(import.meta.dirname, "../../sequences");

async function ran(board: string, asked: AskedBudget = {}) {
  const said: string[] = [];
  const complained: string[] = [];
  const io = {
    out: (line: string) => said.push(line),
    error: (line: string) => complained.push(line),
  };
  const status = await budgetCommand(join(sequences, board), asked, io);
  return { status, said, complained };
}

describe("holdfast budget", () => {
  it("prints a table for each net in each class, and what the guard band costs", async () => {
    const { status, said } = await ran("flasher-latch");
    expect(status).toBe(0);
    const text = said.join("\n");
    for (const head of ["QN low", "QN high", "Q low", "Q high"]) expect(text).toContain(head);
    expect(text).toContain("a net at the limit passes 2.5 % of the time");
    expect(text).toMatch(/divider +rectangular/);
  });

  it("adds its shares up to the whole", async () => {
    const { said } = await ran("flasher-latch", { channel: "Q", json: true });
    expect(said).toHaveLength(2);
    for (const line of said) {
      const { budget } = JSON.parse(line) as {
        readonly budget: { readonly u: number; readonly terms: readonly { readonly u: number }[] };
      };
      const sum = budget.terms.reduce((all, { u }) => all + u ** 2, 0);
      expect(Math.sqrt(sum)).toBeCloseTo(budget.u, 12);
    }
  });

  it("says which nets there are when another is asked for", async () => {
    await expect(ran("flasher-latch", { channel: "K" })).rejects.toThrow(/one of QN, Q, got "K"/);
  });
});
