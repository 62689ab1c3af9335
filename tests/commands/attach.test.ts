/** A run without a terminal and those who come back to it, as processes on pseudo-terminals. */
import { type ChildProcess, spawn } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { BegunRun } from "../../src/commands/detach/detached-self.ts";
import type { RunEvent } from "../../src/events/events.ts";
import { readJournal } from "../../src/journal/read-journal.ts";
import { hasTerminals, OnTerminal } from "../screen/on-terminal.ts";

const root = resolve(import.meta.dirname, "../..");
const program = ["--import", "tsx", "src/main.ts"];
const size = { columns: 80, rows: 24 };
let runs = "";
/** Detached processes that a failed test left. */
const left: number[] = [];

beforeEach(() => {
  runs = mkdtempSync(join(tmpdir(), "hf-attach-"));
});

afterEach(() => {
  for (const pid of left.splice(0)) {
    if (isAlive(pid)) process.kill(pid, "SIGKILL");
  }
  rmSync(runs, { recursive: true, force: true });
});

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
}

interface Ended {
  readonly status: number | null;
  readonly out: string;
  readonly error: string;
}

function ended(child: ChildProcess): Promise<Ended> {
  let [out, error] = ["", ""];
  child.stdout?.on("data", (chunk: Buffer) => {
    out += chunk.toString("utf8");
  });
  child.stderr?.on("data", (chunk: Buffer) => {
    error += chunk.toString("utf8");
  });
  return new Promise((done) => child.once("close", (status) => done({ status, out, error })));
}

function holdfast(args: readonly string[], stdin = ""): Promise<Ended> {
  const child = spawn(process.execPath, [...program, ...args], { cwd: root });
  child.stdin.end(stdin);
  return ended(child);
}

/** Begun on a terminal that is gone by the time this resolves. */
async function begun(args: readonly string[]): Promise<BegunRun> {
  const line = [process.execPath, ...program, ...args, "--detach", "--json", "--runs", runs];
  const child = spawn("script", ["-qec", line.join(" "), "/dev/null"], { cwd: root });
  const { status, out } = await ended(child);
  const told = out.split("\n").find((one) => one.startsWith('{"folder"'));
  if (status !== 0 || told === undefined) throw new Error(`status ${status}: ${out}`);
  const run = JSON.parse(told) as BegunRun;
  left.push(run.process);
  return run;
}

function eventsOf(folder: string): RunEvent[] {
  return readJournal(join(folder, "journal.ndjson")).entries.map(({ event }) => event);
}

const falls = (events: readonly RunEvent[]) =>
  events.flatMap((event) => (event.kind === "rail-fall" ? `${event.rail} ${event.proof}` : []));
const allOff = ["plate verified", "bias verified", "heater verified"];
const folders = () =>
  readdirSync(runs, { withFileTypes: true })
    .filter((one) => one.isDirectory())
    .map(({ name }) => join(runs, name))
    .sort();
const shows = (terminal: OnTerminal, text: string) => () =>
  terminal.grid().join("\n").includes(text);

describe.skipIf(!hasTerminals)("a detached run", () => {
  it("outlives its terminal, is come back to, left, handed on and stopped from another", async () => {
    const { process: pid, folder } = await begun(["prove", "--modelled", "--standby", "30"]);
    // What a closed terminal sends does nothing to it.
    process.kill(pid, "SIGHUP");
    const first = new OnTerminal(["attach", "--runs", runs], size);
    const watching = new OnTerminal(["follow", folder], size);
    try {
      await first.until(shows(first, "n  next run"));
      expect(first.grid().at(-2)).toContain("x  leave");
      await watching.until(shows(watching, "Looking on"));
      watching.press("s");
      await watching.until(shows(watching, "no key here reaches the run"));
      first.press("x");
      expect(await first.exited).toBe(4);
      expect(first.grid().join("\n")).toContain("come back: holdfast attach");
    } finally {
      await first.dispose();
      await watching.dispose();
    }
    expect(isAlive(pid)).toBe(true);

    const second = new OnTerminal(["attach", folder], size);
    try {
      await second.until(shows(second, "n  next run"));
      second.press("n");
      // The heaters are handed on, and the same screen goes on with the run that has them now.
      await second.until(() => folders().length === 2 && shows(second, "n  next run")());
      second.press("s");
      expect(await second.exited).toBe(0);
      expect(second.grid().join("\n")).toContain("PASS: ");
      expect(second.grid().join("\n")).toContain("Record: ");
    } finally {
      await second.dispose();
    }
    const [, next = ""] = folders();
    const events = eventsOf(next);
    expect(events.find(({ kind }) => kind === "stop-requested")).toMatchObject({
      by: "person",
      detail: expect.stringMatching(/^key s, attached from pts\/\d+$/),
    });
    expect(falls(events)).toEqual(allOff);
    expect(readdirSync(next).sort()).not.toContain("control.sock");
    expect(readdirSync(folder)).toContain("log.txt");
  }, 240_000);

  it("is not touched when one who is attached is killed, and tells the next when it is killed itself", async () => {
    const { process: pid, folder } = await begun(["prove", "--modelled", "--standby", "30"]);
    const killed = spawn(process.execPath, [...program, "attach", folder, "--plain"], {
      cwd: root,
    });
    const lines = createInterface({ input: killed.stdout });
    for await (const line of lines) if (line.includes("now standby")) break;
    killed.kill("SIGKILL");
    const terminal = new OnTerminal(["attach", folder], size);
    try {
      await terminal.until(shows(terminal, "n  next run"));
      process.kill(pid, "SIGKILL");
      await terminal.until(shows(terminal, "The program of this run is gone."));
      terminal.press("s");
      await terminal.until(shows(terminal, "nothing can be asked of it"));
      terminal.press("x");
      expect(await terminal.exited).toBe(3);
    } finally {
      await terminal.dispose();
    }
    const later = await holdfast(["attach", folder]);
    expect(later.status).toBe(3);
    expect(readdirSync(folder)).not.toContain("control.sock");
  }, 240_000);

  it("ends safe by a signal, and takes typed lines where there is no screen", async () => {
    const { process: pid, folder } = await begun(["hand", "--pace", "20"]);
    const typed = await holdfast(["attach", folder, "--plain"], "SET high\nGATE high\nleave\n");
    expect(typed.status).toBe(4);
    expect(typed.out).toContain('There is no line "GATE"');
    const attached = holdfast(["attach", folder, "--json"]);
    process.kill(pid, "SIGTERM");
    const { status, out } = await attached;
    expect(status).toBe(4);
    expect(out).toContain('"kind":"run-closed"');
    const events = eventsOf(folder);
    expect(events).toContainEqual({ kind: "lines", set: { SET: "high" } });
    expect(falls(events)).toEqual(allOff);
  }, 240_000);
});

describe("--detach", () => {
  it.each([
    [["prove", "no-such-folder"], 2, "no-such-folder"],
    [["prove", "--port", "/dev/ttyNOWHERE7", "--yes"], 3, "/dev/ttyNOWHERE7"],
  ])("says what kept %j from a run, and leaves nothing", async (args, status, said) => {
    const run = await holdfast([...args, "--detach", "--runs", runs]);
    expect(run.status).toBe(status);
    expect(run.error).toContain(said);
    expect(readdirSync(runs)).toEqual([]);
  });
});

describe.skipIf(!hasTerminals)("a run at its own terminal", () => {
  it.each([
    ["by a hang-up", ""],
    ["without a word", "setsid -w "],
  ])(
    "ends safe when the terminal goes %s",
    async (_how, prefix) => {
      const run = [process.execPath, ...program, "prove", "--pace", "4", "--plain", "--runs", runs];
      const child = spawn("script", ["-qfec", prefix + run.join(" "), "/dev/null"], { cwd: root });
      const lines = createInterface({ input: child.stdout });
      for await (const line of lines) if (line.includes("now warming up")) break;
      const [folder = ""] = folders();
      child.kill("SIGKILL");
      // Looks on to the very end.
      const followed = await holdfast(["follow", folder, "--json"]);
      expect(followed.status).toBe(4);
      const events = eventsOf(folder);
      expect(events.find(({ kind }) => kind === "stop-requested")).toMatchObject({
        by: "signal",
        detail: prefix === "" ? "SIGHUP" : "terminal gone",
      });
      expect(falls(events)).toEqual(allOff);
    },
    240_000,
  );
});
