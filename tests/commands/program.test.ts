/** The program as a person starts it: a process, its streams, its exit status. */
import { spawn } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { JournalEntry } from "../../src/events/events.ts";
import { readJournal } from "../../src/journal/read-journal.ts";

const root = resolve(import.meta.dirname, "../..");
let runs = "";

beforeEach(() => {
  runs = mkdtempSync(join(tmpdir(), "holdfast-program-"));
});

afterEach(() => {
  rmSync(runs, { recursive: true });
});

function start(args: readonly string[]) {
  const child = spawn(process.execPath, ["--import", "tsx", "src/main.ts", ...args], {
    cwd: root,
    stdio: ["ignore", "pipe", "pipe"],
  });
  const exited = new Promise<number | null>((done) => child.once("exit", (code) => done(code)));
  let error = "";
  child.stderr.on("data", (chunk: Buffer) => {
    error += chunk.toString("utf8");
  });
  return { child, exited, error: () => error };
}

async function refused(args: readonly string[]): Promise<{ status: number | null; said: string }> {
  const { child, exited, error } = start(args);
  child.stdout.resume();
  const status = await exited;
  return { status, said: error() };
}

function events(): JournalEntry["event"][] {
  const [folder] = readdirSync(runs);
  if (folder === undefined) throw new Error(`no run was kept in ${runs}`);
  return readJournal(join(runs, folder, "journal.ndjson")).entries.map(({ event }) => event);
}

function falls(): string[] {
  return events().flatMap((one) => (one.kind === "rail-fall" ? [`${one.rail} ${one.proof}`] : []));
}

describe("holdfast", () => {
  it.each([
    [["prove", "--bogus"], "unknown option '--bogus'"],
    [["prove", "--seed", "x"], '--seed as a whole number from 0 to 4294967295, got "x"'],
    [["hand"], "Expected a keyboard for hand mode"],
    [["prove", "--freeze", "sequences/fog-divider"], "Name a folder before --freeze."],
    [["nosuchfolder"], 'or a command, got "nosuchfolder"'],
    [["confirm-off", "cabin-bench"], "--by <initials>"],
    [["replay"], "missing required argument 'journal'"],
  ])("%j is wrong usage, said once, and leaves 2", async (args, said) => {
    const { status, said: heard } = await refused(args);
    expect(status).toBe(2);
    expect(heard).toContain(said);
    expect(heard).not.toContain("    at ");
  });

  it("lists its exit statuses in --help and leaves 0", async () => {
    const { child, exited } = start(["--help"]);
    let text = "";
    child.stdout.on("data", (chunk: Buffer) => {
      text += chunk.toString("utf8");
    });
    expect(await exited).toBe(0);
    for (const status of [0, 1, 2, 3, 4]) expect(text).toMatch(new RegExp(`^ +${status}  `, "m"));
  });

  it("names a port that is not there, leaves 3 and energises nothing", async () => {
    const args = ["prove", "--port", join(runs, "no-port"), "--runs", runs];
    const { status, said } = await refused(args);
    expect(status).toBe(3);
    expect(said).toContain("no-port");
    expect(readdirSync(runs)).toEqual([]);
  });

  it("powers down in order at SIGTERM, proves each rail off and leaves 4", async () => {
    const { child, exited } = start(["prove", "--json", "--pace", "100", "--runs", runs]);
    for await (const line of createInterface({ input: child.stdout })) {
      const { event } = JSON.parse(line) as JournalEntry;
      if (event.kind === "phase" && event.phase === "warming up") {
        child.kill("SIGTERM");
      }
    }
    expect(await exited).toBe(4);
    expect(falls()).toEqual(["plate verified", "bias verified", "heater verified"]);
    expect(events().at(-1)).toMatchObject({ kind: "run-closed", cause: "signal" });
  });

  it("goes on when its reader leaves, and still ends safe at SIGINT", async () => {
    const { child, exited } = start(["prove", "--plain", "--pace", "100", "--runs", runs]);
    for await (const line of createInterface({ input: child.stdout })) {
      if (line.includes("now warming up")) break;
    }
    child.stdout.destroy();
    child.kill("SIGINT");
    child.kill("SIGINT");
    expect(await exited).toBe(4);
    expect(falls()).toEqual(["plate verified", "bias verified", "heater verified"]);
  });
});
