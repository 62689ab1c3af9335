/** `holdfast generate` of folders, of board files, of netlists, and of what is neither. */
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { checkCommand } from "../../src/commands/check.ts";
import { EXIT } from "../../src/commands/exit-status.ts";
import { generateCommand, type RawGenerateOptions } from "../../src/commands/generate.ts";
import { UsageError } from "../../src/commands/usage-error.ts";

const root = join(import.meta.dirname, "../..");
let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-generate-"));
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

async function generate(paths: readonly string[], more: Partial<RawGenerateOptions> = {}) {
  const out: string[] = [];
  const errors: string[] = [];
  const io = { out: (line: string) => out.push(line), error: (line: string) => errors.push(line) };
  const status = await generateCommand(paths, { seed: "1", steps: "500", ...more }, io);
  return { status, out, errors };
}

/** A copy of a shipped folder with its sequence left out. */
function copied(board: string): string {
  const to = mkdtempSync(join(folder, `${board}-`));
  for (const file of ["board.yaml", "rig.yaml", "circuit.yaml"])
    copyFileSync(join(root, "sequences", board, file), join(to, file));
  return to;
}

describe("generate", () => {
  it.each(["flasher-latch", "sector-latch", "watch-adder", "fog-divider", "blast-ring"])(
    "writes for %s a sequence that check has nothing to say against",
    async (board) => {
      const there = copied(board);
      const file = join(there, "sequence.yaml");
      const made = await generate([there], { out: file });
      expect(made.status).toBe(EXIT.pass);
      expect(made.out.at(-1)).toBe(`Written: ${file}`);
      const said: string[] = [];
      const io = {
        out: (line: string) => said.push(line),
        error: (line: string) => said.push(line),
      };
      expect(await checkCommand([there], io)).toBe(EXIT.pass);
      // Findings of the model stand at file:line:column.
      expect(said.filter((line) => /\.yaml:\d+:\d+:/.test(line))).toEqual([]);
      await expect(generate([there], { out: file })).rejects.toThrow(UsageError);
    },
  );

  it("prints the sequence alone, and beside it what it finds", async () => {
    const { out, errors } = await generate([join(root, "sequences/flasher-latch")]);
    expect(out.join("\n")).toMatch(/^# Generated[^\n]*\nformat: holdfast-sequence\n/);
    expect(errors[0]).toBe("6 steps show 12 of 12 classes of stuck-at faults.");
  });

  it("takes every stage's net as read where there is no rig", async () => {
    const { status, errors } = await generate([join(root, "sequences/sector-latch/board.yaml")]);
    expect(status).toBe(EXIT.pass);
    expect(errors.join("\n")).toContain("No rig: every stage output is taken as read");
  });

  it("prints vectors of a netlist with what its outputs must read", async () => {
    const { out } = await generate([join(root, "tests/references/logic/c17.bench")]);
    const { truth_table: table } = JSON.parse(
      readFileSync(join(root, "tests/references/logic/c17.json"), "utf8"),
    ) as { truth_table: { rows: readonly (readonly [inputs: string, outputs: string])[] } };
    const rows = out.filter((line) => !line.startsWith("#"));
    expect(rows).toHaveLength(4);
    const known = table.rows.map((row) => row.join(" "));
    for (const row of rows) expect(known).toContain(row);
  });

  it("says as one object what it says in words", async () => {
    const { out, errors } = await generate([join(root, "sequences/flasher-latch")], { json: true });
    expect(errors).toEqual([]);
    const answer = JSON.parse(out.join("\n")) as Readonly<Record<string, unknown>>;
    expect(answer).toMatchObject({ board: "flasher-latch", seed: 1, faults: 12, found: 12 });
  });

  it("exits 1 when the steps allowed are too few to find what can be found", async () => {
    const { status, errors } = await generate([join(root, "sequences/fog-divider")], {
      steps: "3",
    });
    expect(status).toBe(EXIT.notPass);
    expect(errors.join("\n")).toMatch(/not within the steps allowed/);
  });

  it("says every problem of the files at its place, and what is no number", async () => {
    const there = copied("flasher-latch");
    const board = readFileSync(join(there, "board.yaml"), "utf8");
    writeFileSync(join(there, "board.yaml"), board.replace("inputs: [SET, Q]", "inputs: []"));
    const { status, errors } = await generate([there]);
    expect(status).toBe(EXIT.wrongUsage);
    expect(errors[0]).toMatch(/board\.yaml:\d+:\d+:/);
    await expect(generate([there], { seed: "x" })).rejects.toThrow(/--seed as a whole number/);
    const missing = await generate([join(folder, "none.bench")]);
    expect(missing.status).toBe(EXIT.wrongUsage);
    const rig = join(root, "sequences/flasher-latch/rig.yaml");
    await expect(generate([rig, rig.replace("rig", "circuit")])).rejects.toThrow(
      /Expected a board/,
    );
  });
});
