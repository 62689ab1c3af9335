/** `holdfast expect` from real files: the table, what is filled in, and what is left as it was. */
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { checkCommand } from "../../src/commands/check.ts";
import { expectCommand, type RawExpectOptions } from "../../src/commands/expect.ts";
import { loadProof } from "../../src/commands/proof-folder.ts";
import { NoSuchFolder, UsageError } from "../../src/commands/usage-error.ts";
import { SHIPPED } from "../logic/expect/walk-texts.ts";
import { spoil } from "../plan/proof-texts.ts";

let folder = "";

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-expect-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** A shipped board in a folder of its own. */
function copyOf(name: string): string {
  const place = join(folder, name);
  cpSync(join("sequences", name), place, { recursive: true });
  return place;
}

function change(place: string, file: string, how: (text: string) => string): string {
  const path = join(place, file);
  const text = how(readFileSync(path, "utf8"));
  writeFileSync(path, text);
  return text;
}

/** The sequence without a class. */
const blank = (text: string): string =>
  text.replace(/, expect: \{[^}]*\}/g, "").replace(/^ *expect: \{[^}]*\}\n/gm, "");

async function run(place: string, raw: RawExpectOptions = {}) {
  const out: string[] = [];
  const errors: string[] = [];
  const io = { out: (line: string) => out.push(line), error: (line: string) => errors.push(line) };
  const status = await expectCommand(place, raw, io);
  const bare = (line: string) => line.replaceAll(`${folder}/`, "");
  return { status, out: out.map(bare), errors: errors.map(bare) };
}

describe("expect FOLDER", () => {
  it("says stop by stop what every net must do", async () => {
    const { status, out, errors } = await run("sequences/flasher-latch");
    expect([status, errors]).toEqual([0, []]);
    expect(out.slice(0, 6).map((line) => line.split(/ {2,}/))).toEqual([
      ["Stop", "Driven", "QN", "Q"],
      ["warm-up pattern 1", "SET high, RESET low", "low", "high"],
      ["warm-up pattern 2", "SET low, RESET high", "high", "low"],
      ['step "reset"', "SET low, RESET high", "high", "low"],
      ['step "both inputs"', "SET high", "low", "low"],
      ['step "reset alone"', "SET low", "high", "low"],
    ]);
    expect(out.some((line) => line.startsWith('step "set (1 of 5)", and 4 more alike'))).toBe(true);
  });

  it("marks what is unknown with its cause, and what a hand wrote otherwise", async () => {
    const place = copyOf("flasher-latch");
    change(place, "sequence.yaml", (text) =>
      spoil(
        text,
        "  - { step: set alone, set: { RESET: low }, settleMs: 100, expect: { Q: high, QN: low } }",
        "  - { step: let go, set: { SET: low, RESET: low }, settleMs: 100, expect: { SET: low } }\n  - { step: set alone, set: { SET: high }, settleMs: 100, expect: { Q: low } }",
      ),
    );
    const { status, out } = await run(place);
    expect(status).toBe(1);
    const row = (label: string) => out.find((line) => line.startsWith(label))?.split(/ {2,}/);
    expect(row('step "let go"')).toEqual(['step "let go"', "SET low, RESET low", "X (1)", "X (1)"]);
    expect(row('step "set alone"')?.slice(2)).toEqual(["low", "high, not low"]);
    expect(out).toContain(
      'X (1): QN and Q may end either way when SET goes low and RESET goes low at step "let go".',
    );
  });

  it("says which lines race, and what the latch may end in either way", async () => {
    const place = copyOf("flasher-latch");
    change(place, "sequence.yaml", (text) =>
      spoil(
        text,
        "  - { step: set alone, set: { RESET: low }, settleMs: 100, expect: { Q: high, QN: low } }",
        "  - { step: let go, set: { SET: low, RESET: low }, settleMs: 100, expect: { SET: low } }\n  - { step: set alone, set: { SET: high }, settleMs: 100, expect: { Q: high } }",
      ),
    );
    const { out } = await run(place);
    const told = out.find((line) => line.startsWith('step "let go": '));
    expect(told).toContain("SET against RESET");
    // Both levels of each net, together: the two states of any latch of two NOR stages.
    expect(told).toMatch(/may end in QN low, Q high or QN high, Q low/);
  });

  it("says what initialises a board, and names pulses when asked", async () => {
    const { out } = await run("sequences/fog-divider");
    expect(out).toContain(
      "From power-up every net is known after: CLK low, CLEAR high, PRESET low.",
    );
    expect(out.some((line) => line.endsWith("may pulse on the way."))).toBe(false);
    const { out: all } = await run("sequences/fog-divider", { pulses: true });
    expect(all.some((line) => line.endsWith("may pulse on the way."))).toBe(true);
  });

  it("does not say what initialises a board of which a part is not modelled", async () => {
    const place = copyOf("flasher-latch");
    change(place, "board.yaml", (text) =>
      spoil(
        text,
        "type: nor, tube: ECC82, position: V1, section: b",
        "type: follower, tube: ECC82, position: V1, section: b",
      ),
    );
    const { out } = await run(place);
    expect(out).toContain("What initialises the board is not told: some of it is not modelled.");
  });

  it("gives the same as one JSON object", async () => {
    const { out } = await run("sequences/watch-adder", { json: true });
    expect(out).toHaveLength(1);
    const told = JSON.parse(out[0] ?? "");
    expect(told).toMatchObject({ board: "watch-adder", partial: false, findings: [] });
    expect(told.initialising).toMatchObject({ shortest: [expect.any(String)], complete: true });
    expect(told.stops[3]).toEqual({
      stop: 'step "both"',
      set: { A: "high", B: "high" },
      nets: { NA: "low", NB: "low", X: "low", CARRY: "high", SUM: "low", CARRYN: "low" },
      contradicts: {},
      unknown: {},
      alike: 0,
    });
  });

  it("refuses a folder that is not there", async () => {
    await expect(run(join(folder, "none"))).rejects.toThrow(NoSuchFolder);
  });

  it("still shows the table where the files do not make a plan, and says why they do not", async () => {
    const place = copyOf("flasher-latch");
    change(place, "sequence.yaml", (text) => text.replaceAll("settleMs: 100", "settleMs: 1"));
    const { status, out, errors } = await run(place);
    expect(status).toBe(2);
    expect(out[0]).toMatch(/^Stop/);
    expect(errors[0]).toContain("1 ms is shorter than");
  });
});

describe("expect FOLDER --fill", () => {
  it.each(SHIPPED)(
    "writes into the sequence of %s what was taken out, and keeps every other line",
    async (name) => {
      const place = copyOf(name);
      const written = await loadProof(place);
      const bare = change(place, "sequence.yaml", blank);
      const { status, errors } = await run(place, { fill: true });
      expect(status).toBe(0);
      expect(errors[0]).toMatch(/^Filled in \d+ places of /);
      const text = readFileSync(join(place, "sequence.yaml"), "utf8");
      expect(blank(text)).toBe(bare);
      const filled = await loadProof(place);
      if (!written.ok || !filled.ok) throw new Error("a proof does not resolve");
      expect(filled.proof.plan.steps.some(({ modelled }) => modelled)).toBe(false);
      for (const [index, step] of filled.proof.plan.steps.entries()) {
        expect(step.expect).toMatchObject(
          written.proof.plan.steps[index]?.expect ?? { gone: true },
        );
      }
    },
  );

  it("changes nothing that was written by hand, right or wrong", async () => {
    const place = copyOf("flasher-latch");
    const text = change(place, "sequence.yaml", (was) => was.replace("QN: high }", "QN: low }"));
    const { status } = await run(place, { fill: true });
    expect(status).toBe(1);
    expect(readFileSync(join(place, "sequence.yaml"), "utf8")).toBe(text);
  });

  it("writes a copy beside, once", async () => {
    const place = copyOf("flasher-latch");
    const bare = change(place, "sequence.yaml", blank);
    const out = join(folder, "filled.yaml");
    await run(place, { out });
    expect(readFileSync(join(place, "sequence.yaml"), "utf8")).toBe(bare);
    expect(readFileSync(out, "utf8")).toContain("expect: { QN: high, Q: low }");
    await expect(run(place, { out })).rejects.toThrow(UsageError);
  });

  it("writes nothing where the files have problems", async () => {
    const place = copyOf("flasher-latch");
    change(place, "sequence.yaml", (text) =>
      blank(text).replaceAll("settleMs: 100", "settleMs: 1"),
    );
    const out = join(folder, "filled.yaml");
    expect((await run(place, { out })).status).toBe(2);
    expect(existsSync(out)).toBe(false);
  });

  it("leaves a repeat whose rounds differ to a person, and says which step", async () => {
    const place = copyOf("fog-divider");
    change(place, "sequence.yaml", (text) =>
      spoil(
        text,
        "  - note: Preset and clear from the other state, clock down and clock up.",
        "  - repeat: 2\n    steps:\n      - { step: up, set: { CLK: high }, settleMs: 100 }\n      - { step: down, set: { CLK: low }, settleMs: 100 }\n  - note: Preset and clear from the other state, clock down and clock up.",
      ),
    );
    const { errors } = await run(place, { fill: true });
    expect(errors.slice(1)).toEqual([
      'Left out: "up (2 of 2)" comes to other classes in other rounds; split the repeat.',
      'Left out: "down (2 of 2)" comes to other classes in other rounds; split the repeat.',
    ]);
    const loaded = await loadProof(place);
    if (!loaded.ok) throw new Error("the proof does not resolve");
    const ups = loaded.proof.plan.steps.filter(({ name }) => name.startsWith("up ("));
    expect(ups.map((step) => step.expect["Q"])).toEqual(["high", "low"]);
  });
});

describe("check FOLDER", () => {
  it("tells what the model finds, and takes the files all the same", async () => {
    const place = copyOf("flasher-latch");
    change(place, "sequence.yaml", (was) => was.replace("QN: high }", "QN: low }"));
    const out: string[] = [];
    const status = await checkCommand([place], {
      out: (line) => out.push(line),
      error: (line) => out.push(line),
    });
    expect(status).toBe(0);
    const from = out.indexOf("What this proof does not do, by the model of the board's stages:");
    expect(out.slice(from + 1, from + 2).map((line) => line.replace(`${place}/`, ""))).toEqual([
      "  sequence.yaml:13:89: model disagrees: QN is expected low, and the model says high: QN is V1a: nor of SET low, Q low; Q is V1b: nor of RESET high, QN high; mend the class, the step or the stages; nothing is changed for you",
    ]);
  });
});
