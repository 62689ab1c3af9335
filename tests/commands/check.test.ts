/** `holdfast check` from real files: what it says, and what it leaves as exit status. */

import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { chmodSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { checkCommand } from "../../src/commands/check.ts";
import { loadProof, readProofFolder } from "../../src/commands/proof-folder.ts";
import { PROOF_TEXTS, spoil } from "../plan/proof-texts.ts";

const CIRCUIT_TEXT = `format: holdfast-circuit
version: 1
circuit: test
parts:
  - { part: R1, kind: resistor, from: plate, to: Q, ohm: 47000 }
`;

/** Node makes no named pipes by itself. */
const pipeMaker = "mkfifo";

let folder = "";

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-check-"));
  for (const [role, text] of Object.entries(PROOF_TEXTS)) put(`${role}.yaml`, text);
  put("circuit.yaml", CIRCUIT_TEXT);
});

afterEach(() => rmSync(folder, { recursive: true, force: true }));

function put(name: string, content: string | Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

async function check(...paths: string[]) {
  const out: string[] = [];
  const errors: string[] = [];
  const io = { out: (line: string) => out.push(line), error: (line: string) => errors.push(line) };
  const status = await checkCommand(paths, io);
  // The folder's name differs each time; messages are compared without it.
  const bare = (line: string) => line.replaceAll(`${folder}/`, "");
  return { status, out: out.map(bare), errors: errors.map(bare) };
}

describe("check FOLDER", () => {
  it("says in words what the files mean and exits 0", async () => {
    const { status, out, errors } = await check(folder);
    expect(errors).toEqual([]);
    expect(status).toBe(0);
    const hash = createHash("sha256").update(PROOF_TEXTS.rig).digest("hex");
    expect(out).toContain(`  rig rig.yaml, sha256 ${hash}`);
    const rails = out.filter((line) => /^ {2}(heater|bias|plate): -?\d/.test(line));
    expect(rails.map((line) => /ceiling (\S+ V)/.exec(line)?.[1])).toEqual([
      "14 V",
      "-30 V",
      "55 V",
    ]);
    expect(out).toContain("  low: sent at or below 14 V (VOL), taken at or below 18 V (VIL)");
    expect(out).toContain("  A: nor in V1a, takes SET, Q, drives QN");
    expect(out).toContain(
      "  SET: output 4, released low, 0 V through 1 kohm; operated high, 44 V taken from plate through 10 kohm; read back on channel 9",
    );
    expect(out).toContain("  LAMP: output 6, connects 330 kohm from Q to common");
    // 5 V x 11 = 55 V full scale, 55 V / 1024 = 53.7 mV a code, the last code clips.
    expect(out).toContain("  7 reads Q: 0 V to 54.946 V, 53.7 mV a code");
    expect(out).toContain("  2 release: RESET low; wait 100 ms; Q low, QN high");
    expect(out).toContain("Steps of test-proof: 23, one pass takes about 2 min 8 s");
    expect(out).toContain("  easy drive: SET, RESET not driven at VIL 18 V and VIH 32 V");
  });

  it("prints two hundred steps and counts the rest", async () => {
    put("sequence.yaml", spoil(PROOF_TEXTS.sequence, "repeat: 10", "repeat: 500"));
    const { out } = await check(folder);
    expect(out).toContain("  and 803 more");
    expect(out.filter((line) => /^ {2}\d+ (un)?set \(/.test(line))).toHaveLength(197);
  });

  it("says every problem of every file, energises nothing and exits 2", async () => {
    put("board.yaml", spoil(PROOF_TEXTS.board, "revision: A", "revision: 1"));
    put("sequence.yaml", spoil(PROOF_TEXTS.sequence, "bandV: 0.3", "bandV: 0"));
    put("circuit.yaml", "format: holdfast-circuit\nversion: 1\ncircuit: test\nparts: []\n");
    const { status, out, errors } = await check(folder);
    expect(status).toBe(2);
    expect(out).toEqual([]);
    expect(errors.map((line) => line.split(": ", 2)[0])).toEqual([
      "board.yaml:4:11",
      "sequence.yaml:7:20",
      "circuit.yaml:4:1",
      "3 problems, nothing was energised.",
    ]);
  });

  it("says what a plan asks too much of", async () => {
    put(
      "rig.yaml",
      spoil(PROOF_TEXTS.rig, "drive: relay, sourceV: 48,", "drive: relay, sourceV: 60,"),
    );
    const { status, errors } = await check(folder);
    expect(status).toBe(2);
    expect(errors[0]).toBe(
      "rig.yaml:12:54: 60: the plate supply is set to 60 V, beyond the board's ceiling of 55 V; set the supply lower, or use the rig made for this board",
    );
    expect(errors.at(-1)).toBe("1 problem, nothing was energised.");
  });

  it("names each file that is missing and still reads the others", async () => {
    rmSync(join(folder, "rig.yaml"));
    put("board.yaml", "");
    const { status, errors } = await check(folder);
    expect(status).toBe(2);
    expect(errors).toEqual([
      "board.yaml:1:1: the file is empty; start it with `format:` and `version:`",
      "rig.yaml: no such file, expected the rig file; name a folder that holds it, or name the file itself",
      "2 problems, nothing was energised.",
    ]);
  });

  it("names the circuit file that the rig wants", async () => {
    rmSync(join(folder, "circuit.yaml"));
    expect((await check(folder)).errors[0]).toMatch(
      /^circuit\.yaml: no such file, expected the circuit file/,
    );
  });
});

describe("a file that cannot be read", () => {
  it.each([
    [
      "a folder",
      () => mkdirSync(join(folder, "rig.yaml")),
      /^rig\.yaml: a folder, expected the rig file/,
    ],
    [
      "a link to itself",
      () => symlinkSync("rig.yaml", join(folder, "rig.yaml")),
      /symbolic links go in a circle/,
    ],
    [
      "a device",
      () => symlinkSync("/dev/zero", join(folder, "rig.yaml")),
      /cannot be read \(not a file\)/,
    ],
    [
      "a pipe without a writer",
      () => execFileSync(pipeMaker, [join(folder, "rig.yaml")]),
      /\(not a file\)/,
    ],
    [
      "two mebibytes",
      () => put("rig.yaml", new Uint8Array(2 ** 21).fill(0x61)),
      /more than 1048576 bytes/,
    ],
    [
      "an image",
      () => put("rig.yaml", Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10, 0)),
      /NUL byte at byte 8/,
    ],
  ])("because it is %s is refused with the reason", async (_what, make, says) => {
    rmSync(join(folder, "rig.yaml"));
    make();
    const { status, errors } = await check(folder);
    expect(status).toBe(2);
    expect(errors[0]).toMatch(says);
    expect(errors).toHaveLength(2);
  });

  it.skipIf(process.getuid?.() === 0)("for want of permission says how to give it", async () => {
    chmodSync(join(folder, "rig.yaml"), 0);
    expect((await check(folder)).errors[0]).toBe(
      "rig.yaml: not permitted to read it, expected the rig file; change its permissions (`chmod u+r`) or its owner",
    );
  });
});

describe("check FILE...", () => {
  it("tells files apart by their format, whatever their names", async () => {
    const paths = [
      put("a.txt", PROOF_TEXTS.sequence),
      put("b.txt", PROOF_TEXTS.rig),
      put("c.txt", `# a comment first\n${PROOF_TEXTS.board}`),
    ];
    const { status, out } = await check(...paths);
    expect(status).toBe(0);
    expect(out[0]).toBe("Board test-latch, revision A: Set-reset latch of two nor stages");
  });

  it("checks a file by itself and says what was not checked", async () => {
    const { status, out } = await check(join(folder, "board.yaml"));
    expect(status).toBe(0);
    expect(out[0]).toMatch(/^board\.yaml: a board file, sha256 [0-9a-f]{64}$/);
    expect(out).toContain("  A: nor in V1a, takes SET, Q, drives QN");
    expect(out).toContain("  LAMP on Q: lamp driver input");
    expect(out.at(-1)).toBe(
      "Not a whole proof: board, rig and sequence together are needed to check names and volts.",
    );
  });

  it.each([
    ["rig.yaml", "  7 reads Q: 0 V to 54.946 V, 53.7 mV a code"],
    ["sequence.yaml", "  2 release: RESET low; wait 100 ms; Q low, QN high"],
  ])("says of %s by itself what it means", async (name, line) => {
    const { status, out } = await check(join(folder, name));
    expect(status).toBe(0);
    expect(out).toContain(line);
  });

  it("hears a board contradict itself, and a rig its board, before there is a sequence", async () => {
    const board = put("bad.yaml", PROOF_TEXTS.board.replace("ceilingV: 55", "ceilingV: 50"));
    const alone = await check(board);
    expect(alone.status).toBe(2);
    expect(alone.errors[0]).toContain("the window reaches the ceiling of 50 V");
    const rig = put("bad-rig.yaml", PROOF_TEXTS.rig.replace("output: 3", "output: 2"));
    const both = await check(join(folder, "board.yaml"), rig);
    expect(both.status).toBe(2);
    expect(both.errors.join("\n")).toContain("the controller switches plate by output 3");
  });

  it("refuses two files of one kind, and a file of no kind", async () => {
    const { status, errors } = await check(
      join(folder, "board.yaml"),
      put("other.yaml", PROOF_TEXTS.board),
      put("list.yaml", "- 1\n"),
    );
    expect(status).toBe(2);
    expect(errors.map((line) => line.split(";")[0])).toEqual([
      "other.yaml:1:1: a second board file beside board.yaml",
      "list.yaml:1:1: no line names a format, expected holdfast-board, -rig, -sequence, -circuit, -unit or -calibration",
      "2 problems, nothing was energised.",
    ]);
  });

  it("asks for a folder when none is named", async () => {
    expect((await check()).status).toBe(2);
  });
});

describe("loadProof(folder)", () => {
  it("gives plan, files and circuit, with base names and hashes only", async () => {
    const result = await loadProof(folder);
    if (!result.ok) throw new Error("expected a proof");
    expect(result.proof.circuit?.parts).toHaveLength(1);
    expect(result.proof.plan.sources.map(({ role, name }) => [role, name])).toEqual([
      ["board", "board.yaml"],
      ["rig", "rig.yaml"],
      ["sequence", "sequence.yaml"],
      ["circuit", "circuit.yaml"],
    ]);
    expect(JSON.stringify(result.proof.plan)).not.toContain(folder);
  });

  it("has no circuit when the rig names a port", async () => {
    const rig = spoil(
      PROOF_TEXTS.rig,
      "bench: { kind: emulated, circuit: circuit.yaml }",
      "bench: { kind: port, port: /dev/ttyACM0 }",
    );
    const result = await loadProof(folder, { rig: put("port-rig.yaml", rig) });
    expect(result.ok && result.proof.circuit).toBe(null);
    expect(result.ok && result.proof.plan.sources[1]?.name).toBe("port-rig.yaml");
  });

  it("hashes bytes as they are on disk, byte order mark and all", async () => {
    const bytes = new TextEncoder().encode(`\uFEFF${PROOF_TEXTS.board}`);
    put("board.yaml", bytes);
    const { files } = await readProofFolder(folder);
    const board = files.find((file) => file.role === "board");
    expect(board?.sha256).toBe(createHash("sha256").update(bytes).digest("hex"));
    expect(board?.text.startsWith("format:")).toBe(true);
  });
});
