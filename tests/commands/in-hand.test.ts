/** Hand mode, freeze and standby as processes whose standard input says what to do. */
import { spawn } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import { readJournal } from "../../src/journal/read-journal.ts";

const root = resolve(import.meta.dirname, "../..");
let runs = "";

beforeEach(() => {
  runs = mkdtempSync(join(tmpdir(), "holdfast-in-hand-"));
});

afterEach(() => {
  rmSync(runs, { recursive: true });
});

interface Ended {
  readonly status: number | null;
  readonly said: string;
  /** Events of each run, in the order the runs were made. */
  readonly runs: readonly (readonly RunEvent[])[];
}

/** In the order they were made; the index of runs lies beside them. */
function runFolders(): string[] {
  const entries = readdirSync(runs, { withFileTypes: true });
  return entries
    .filter((one) => one.isDirectory())
    .map(({ name }) => name)
    .sort();
}

async function typed(args: readonly string[], lines: readonly string[]): Promise<Ended> {
  const child = spawn(
    process.execPath,
    ["--import", "tsx", "src/main.ts", ...args, "--runs", runs],
    { cwd: root, stdio: ["pipe", "pipe", "pipe"] },
  );
  let said = "";
  for (const stream of [child.stdout, child.stderr]) {
    stream.on("data", (chunk: Buffer) => {
      said += chunk.toString("utf8");
    });
  }
  child.stdin.end(`${lines.join("\n")}\n`);
  const status = await new Promise<number | null>((done) => child.once("close", done));
  const folders = runFolders();
  const read = (folder: string) =>
    readJournal(join(runs, folder, "journal.ndjson")).entries.map(({ event }) => event);
  return { status, said, runs: folders.map(read) };
}

function of<Kind extends RunEvent["kind"]>(kind: Kind, events: readonly RunEvent[] = []) {
  return events.filter((one): one is Extract<RunEvent, { kind: Kind }> => one.kind === kind);
}

const falls = (events: readonly RunEvent[] | undefined) =>
  of("rail-fall", events).map(({ rail, proof }) => `${rail} ${proof}`);
const allOff = ["plate verified", "bias verified", "heater verified"];

describe("holdfast hand", () => {
  it("drives and pulses what is typed, judges nothing, and leaves 0", async () => {
    const ended = await typed(
      ["hand"],
      ["RESET high", "wait 600", "pulse LAMP", "GATE high", "let go"],
    );
    expect(ended.said).toContain('There is no line "GATE"; the lines are SET, RESET, LAMP.');
    expect(ended.said).toContain("NOT TESTED: hand mode judges nothing.");
    const [events] = ended.runs;
    const moved = of("lines", events).map(({ set }) => JSON.stringify(set));
    expect(moved).toEqual(
      expect.arrayContaining([
        '{"LAMP":"low","RESET":"low","SET":"low"}',
        '{"RESET":"high"}',
        '{"LAMP":"high"}',
        '{"LAMP":"low"}',
      ]),
    );
    expect(of("hand-reading", events).length).toBeGreaterThan(1);
    expect(of("reading", events)).toEqual([]);
    expect(falls(events)).toEqual(allOff);
    expect(ended.status).toBe(0);
  });
});

describe("holdfast prove --freeze", () => {
  it("repeats the step that missed, counts none of it, and leaves 1", async () => {
    const fault = ["--fault", "V1a.emission=0.55"];
    const ended = await typed(["prove", "--freeze", ...fault], ["repeat", "repeat", "let go"]);
    const [events] = ended.runs;
    expect(of("freeze-turn", events).map(({ result }) => result)).toEqual(["fail", "fail"]);
    expect(of("run-closed", events)).toMatchObject([{ verdict: "fail", cause: "first fail" }]);
    expect(falls(events)).toEqual(allOff);
    expect(ended.status).toBe(1);
  });
});

describe("holdfast prove --standby", () => {
  it("proves again on warm heaters, with a journal and a record for each run", async () => {
    const fault = ["--fault", "V1a.emission=0.55"];
    const ended = await typed(["prove", "--standby", ...fault], ["next run", "let go"]);
    const [first, second] = ended.runs;
    expect(falls(first)).toEqual(["plate verified", "bias verified", "heater kept on"]);
    expect(falls(second)).toEqual(allOff);
    expect(of("rail-switched", second)[0]).toMatchObject({ rail: "heater", on: true });
    expect(of("rail-switched", second)[0]?.takenOverMs).toBeGreaterThan(20_000);
    const [[firstWarm], [secondWarm]] = [of("warm-up-ended", first), of("warm-up-ended", second)];
    expect(secondWarm?.tookMs).toBeLessThan((firstWarm?.tookMs ?? 0) / 2);
    for (const folder of runFolders()) {
      expect(readdirSync(join(runs, folder)).sort()).toEqual([
        "files",
        "journal.ndjson",
        "record.html",
        "record.json",
        "record.txt",
      ]);
    }
    expect(ended.status).toBe(1);
  });
});
