/** `holdfast grade` of a proof and of a netlist with vectors. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { gradeCommand, type RawGradeOptions } from "../../src/commands/grade.ts";
import { NoSuchFolder, UsageError } from "../../src/commands/usage-error.ts";
import { latchWith } from "../logic/expect/walk-texts.ts";
import { PROOF_TEXTS, type ProofTexts } from "../plan/proof-texts.ts";
import c17 from "../references/logic/c17.json" with { type: "json" };

const C17 = "tests/references/logic/c17.bench";
let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-grade-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function put(name: string, text: string): string {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
}

function putProof(texts: ProofTexts): string {
  for (const [role, text] of Object.entries(texts)) put(`${role}.yaml`, text);
  put("circuit.yaml", readFileSync("sequences/flasher-latch/circuit.yaml", "utf8"));
  return folder;
}

async function run(place: string, raw: RawGradeOptions = {}) {
  const out: string[] = [];
  const errors: string[] = [];
  const io = { out: (line: string) => out.push(line), error: (line: string) => errors.push(line) };
  const status = await gradeCommand(place, raw, io);
  return { status, out, errors };
}

const row = (out: readonly string[], begin: RegExp) =>
  out
    .find((line) => begin.test(line))
    ?.trim()
    .split(/ {2,}/);

describe("grade FOLDER", () => {
  it("counts faults by position and part, and says which one perhaps goes unnoticed", async () => {
    const { status, out } = await run("sequences/flasher-latch");
    expect(status).toBe(1);
    expect(out[0]).toBe(
      "Sequence flasher-latch-proof, warm-up and one pass, 36 stops, reading QN, Q.",
    );
    expect(row(out, /^V1a +D1 /)).toEqual(["V1a", "D1", "2", "2"]);
    expect(row(out, /^V1a +D2 /)).toEqual(["V1a", "D2", "2", "1", "1"]);
    const from = out.indexOf("Perhaps noticed, perhaps not:");
    expect(out[from + 1]).toMatch(/^ {2}D2 shorted: Q is tied to what else V1a takes, SET \(/);
  });

  it("says of a sequence that never lets a latch stand that nothing would notice its feedback open", async () => {
    const reset =
      "{ step: reset, set: { SET: low, RESET: high }, settleMs: 100, expect: { Q: low, QN: high } }";
    const set =
      "{ step: set, set: { SET: high, RESET: low }, settleMs: 100, expect: { Q: high, QN: low } }";
    const place = putProof(latchWith(`  - ${reset}\n  - ${set}`));
    const { status, out } = await run(place);
    expect(status).toBe(1);
    const from = out.indexOf("Nothing here would notice:");
    expect(out.slice(from + 1, from + 3).map((line) => line.replace(/ \(.*/, ""))).toEqual([
      "  input Q of A open: A does not see Q go high",
      "  input QN of B open: B does not see QN go high",
    ]);
    const whole = putProof(PROOF_TEXTS);
    expect((await run(whole)).out.join("\n")).not.toContain("Nothing here would notice");
  });

  it("names of every fault the step that notices it first", async () => {
    const { out } = await run("sequences/flasher-latch", { all: true });
    const first = row(out, /D4 open/);
    expect(first?.slice(2)).toEqual(["detected", 'step "reset released" by Q, QN']);
  });

  it("gives the same as one JSON object, and draws it once", async () => {
    const picture = join(folder, "coverage.svg");
    const { out } = await run("sequences/flasher-latch", { json: true, picture });
    const told = JSON.parse(out.join(""));
    expect(told.parts).toHaveLength(25);
    expect(told.parts[0]).toMatchObject({
      kind: "no emission",
      part: "V1a",
      position: "V1a",
      outcome: "detected",
      surely: ["QN", "Q"],
    });
    const svg = readFileSync(picture, "utf8");
    expect(svg.match(/class="sure"/g)).toHaveLength(
      told.parts.reduce((sum: number, { surely }: { surely: string[] }) => sum + surely.length, 0),
    );
    expect(svg).toContain("D2 shorted: Q is tied to what else V1a takes, SET");
    await expect(run("sequences/flasher-latch", { picture })).rejects.toThrow(UsageError);
  });

  it("refuses a folder that is not there, and vectors for a proof", async () => {
    await expect(run(join(folder, "none"))).rejects.toThrow(NoSuchFolder);
    await expect(run("sequences/flasher-latch", { vectors: C17 })).rejects.toThrow(UsageError);
  });
});

describe("grade FILE.bench --vectors FILE", () => {
  // Classes and vectors of c17 with what each set finds: tests/references/logic/c17.json.
  it("finds of c17 with each more of the published vectors what two simulators found", async () => {
    const { vectors, cumulative_detected_collapsed_faults: found } = c17.vector_set;
    for (const [index, count] of found.entries()) {
      const path = put(`first-${index}.txt`, `# c17\n${vectors.slice(0, index + 1).join("\n")}\n`);
      const { status, out } = await run(C17, { vectors: path });
      expect(out.find((line) => line.startsWith("Lines stuck"))).toContain(`: ${count} detected`);
      expect(status).toBe(count === c17.published.collapsed_faults ? 0 : 1);
    }
  });

  it("leaves an input with X as it was, and reads no further than the vector", async () => {
    const path = put("held.txt", "10111 10 # and so on\nXX0XX\n");
    const json = JSON.parse((await run(C17, { vectors: path, json: true })).out.join(""));
    const plain = put("plain.txt", "10111\n10011\n");
    const same = JSON.parse((await run(C17, { vectors: plain, json: true })).out.join(""));
    expect(json).toEqual(same);
  });

  it("needs vectors, and says what is wrong in them", async () => {
    await expect(run(C17)).rejects.toThrow(UsageError);
    const vectors = put("wrong.txt", "10111\n1011\n10z11\n");
    const { status, errors } = await run(C17, { vectors });
    expect(status).toBe(2);
    expect(errors.map((line) => line.replace(`${folder}/`, ""))).toEqual([
      "wrong.txt:2:1: 1011: 4 letters, the netlist has 5 inputs; give each input one letter, in the order of the netlist",
      "wrong.txt:3:3: 10z11: expected 0, 1 or X for each input; mend the letter",
    ]);
    expect((await run(C17, { vectors: put("none.txt", "# nothing\n") })).status).toBe(2);
  });
});
