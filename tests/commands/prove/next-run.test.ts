/** What may change on disk while heaters wait in standby, and what that leaves behind. */
import { hash } from "node:crypto";
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { createVirtualClock } from "../../../src/clock/virtual-clock.ts";
import { packageFolder } from "../../../src/commands/package-folder.ts";
import { loadProof, type Proof } from "../../../src/commands/proof-folder.ts";
import { prepareNextRun } from "../../../src/commands/prove/next-run.ts";
import type { ProofBench } from "../../../src/commands/prove/proof-bench.ts";
import { readProveOptions } from "../../../src/commands/prove/prove-options.ts";
import { discardRunFiles } from "../../../src/commands/prove/run-files.ts";

const bench: Pick<ProofBench, "clock"> = { clock: createVirtualClock() };
let place = "";
let folder = "";
let runs = "";
let before: Proof;

beforeEach(async () => {
  place = mkdtempSync(join(tmpdir(), "holdfast-next-"));
  folder = join(place, "proof");
  runs = join(place, "runs");
  cpSync(join(packageFolder, "sequences/flasher-latch"), folder, { recursive: true });
  const result = await loadProof(folder);
  if (!result.ok) throw new Error("Expected the shipped proof to load.");
  before = result.proof;
});

afterEach(() => {
  rmSync(place, { recursive: true, force: true });
});

function change(name: string, from: RegExp | string, to: string): void {
  const path = join(folder, name);
  const text = readFileSync(path, "utf8");
  const changed = text.replace(from, to);
  expect(changed).not.toBe(text);
  writeFileSync(path, changed);
}

function prepare() {
  const surroundings = {
    environment: {},
    stdoutIsTerminal: false,
    defaultFolder: folder,
    mode: "proof" as const,
  };
  const options = readProveOptions(folder, { runs, color: false, standby: true }, surroundings);
  return prepareNextRun(options, before, { ...bench, seed: 1 });
}

describe("prepareNextRun(options, before, bench)", () => {
  it("reads a changed sequence, and has folder and journal ready", async () => {
    change("sequence.yaml", "forMs: 120000", "forMs: 3000");
    const { proof, files } = await prepare();
    const forMs = proof.plan.steps.flatMap((step) => (step.kind === "hold" ? [step.forMs] : []));
    expect(forMs).toContain(3000);
    expect(readdirSync(files.folder)).toEqual(["files", "journal.ndjson"]);
    // Kept as they lie on disk, so that their hashes are those of the plan.
    for (const { role, sha256 } of proof.plan.sources) {
      const kept = readFileSync(join(files.folder, "files", `${role}.yaml`));
      expect(hash("sha256", kept, "hex")).toBe(sha256);
    }
    discardRunFiles(files);
    expect(readdirSync(runs)).toEqual([]);
  });

  it("says where a broken file is broken, and leaves no folder behind", async () => {
    change("sequence.yaml", /settleMs: \d+/, "settleMs: -5");
    await expect(prepare()).rejects.toThrow(/sequence\.yaml:\d+:\d+: -5/);
    expect(() => readdirSync(runs)).toThrow("ENOENT");
  });

  it.each(["board.yaml", "rig.yaml"])("takes no other %s under a warm board", async (name) => {
    change(name, /$/, "\n# another\n");
    await expect(prepare()).rejects.toThrow(`but ${name} did`);
  });
});
