/** A second viewer as a person starts it, beside a journal that the test writes. */
import { spawn } from "node:child_process";
import { appendFileSync, mkdirSync, mkdtempSync, rmSync, utimesSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { journalToFollow } from "../../src/commands/run-to-follow.ts";
import type { RunEvent } from "../../src/events/events.ts";
import { frozenEvents } from "../journal/by-person-run.ts";
import { closed, healthyEvents, healthyUpTo, powerDown } from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";

const root = resolve(import.meta.dirname, "../..");
let runs = "";

beforeEach(() => {
  runs = mkdtempSync(join(tmpdir(), "holdfast-follow-"));
});

afterEach(() => {
  rmSync(runs, { recursive: true });
});

function makeRun(name: string, bytes: Uint8Array | string): string {
  mkdirSync(join(runs, name));
  const path = join(runs, name, "journal.ndjson");
  writeFileSync(path, bytes);
  return path;
}

function follow(args: readonly string[]) {
  const child = spawn(process.execPath, ["--import", "tsx", "src/main.ts", "follow", ...args], {
    cwd: root,
    stdio: ["ignore", "pipe", "pipe"],
  });
  let error = "";
  child.stderr.on("data", (chunk: Buffer) => {
    error += chunk.toString("utf8");
  });
  const exited = new Promise<number | null>((done) => child.once("exit", (code) => done(code)));
  return { child, exited, error: () => error, lines: createInterface({ input: child.stdout }) };
}

describe("holdfast follow", () => {
  it("tells a run as it is written, to its last event, and leaves the run's own status", async () => {
    const { bytes, entries } = writeRun([
      ...healthyUpTo((event) => event.kind === "step-begun"),
      { kind: "stop-requested", by: "person", detail: "stop key" },
      ...powerDown,
      closed("not tested", "stopped by the person"),
    ] satisfies RunEvent[]);
    const half = Math.floor(bytes.length / 2);
    const path = makeRun("run", bytes.subarray(0, half));
    const { lines, exited } = follow(["--json", "--runs", runs]);
    const heard: unknown[] = [];
    for await (const line of lines) {
      heard.push(JSON.parse(line));
      if (heard.length === 1) appendFileSync(path, bytes.subarray(half));
    }
    expect(heard).toEqual(entries);
    expect(await exited).toBe(4);
  });

  it("is left by a signal, and says that the run goes on", async () => {
    const { bytes } = writeRun(healthyUpTo((event) => event.kind === "step-begun"));
    makeRun("run", bytes);
    const { child, lines, exited, error } = follow([join(runs, "run")]);
    let count = 0;
    for await (const _ of lines) {
      count += 1;
      if (count === 1) child.kill("SIGINT");
    }
    expect(await exited).toBe(4);
    expect(error()).toContain("The run is not stopped by that");
  });

  it("leaves when nobody reads what it tells, though the run goes on", async () => {
    const { bytes } = writeRun(healthyUpTo((event) => event.kind === "step-begun"));
    const path = makeRun("run", bytes.subarray(0, bytes.length - 40));
    const { child, lines, exited } = follow([path]);
    for await (const _ of lines) break;
    child.stdout.destroy();
    appendFileSync(path, bytes.subarray(bytes.length - 40));
    expect(await exited).toBe(4);
  });

  it("tells the journal's disappearance apart from the end of a run", async () => {
    const { bytes } = writeRun(healthyUpTo((event) => event.kind === "step-begun"));
    makeRun("run", bytes);
    const { lines, exited, error } = follow(["--runs", runs]);
    for await (const _ of lines) rmSync(join(runs, "run"), { recursive: true, force: true });
    expect(await exited).toBe(3);
    expect(error()).toMatch(/moved or removed.*treat every rail as live/);
  });

  it("says of a run that handed its heaters over that they are still on", async () => {
    const path = makeRun("run", writeRun(frozenEvents).bytes);
    const { lines, exited } = follow(["--plain", path]);
    const heard: string[] = [];
    for await (const line of lines) heard.push(line);
    expect(heard.at(-1)).toContain("Still ON for the next run: heater");
    expect(await exited).toBe(1);
  });

  it.each([
    [["--json", "--plain"], "one of --json and --plain"],
    [["no-such-run"], 'there is no "no-such-run"'],
    [["README.md"], "Expected holdfast-journal in line 1"],
  ])("%j leaves 2 and says why", async (args, said) => {
    makeRun("run", writeRun(healthyEvents).bytes);
    const { lines, exited, error } = follow([...args, "--runs", runs]);
    for await (const _ of lines);
    expect(await exited).toBe(2);
    expect(error()).toContain(said);
  });
});

describe("journalToFollow(given, runs)", () => {
  it("takes a journal, the journal of a run folder, or the run last written to", () => {
    const older = makeRun("2026-03-02-b", "");
    const newer = makeRun("2026-03-01-a", "");
    utimesSync(older, 1000, 1000);
    utimesSync(newer, 2000, 2000);
    mkdirSync(join(runs, "2026-09-09-without-a-journal"));
    writeFileSync(join(runs, "a-file"), "");
    expect(journalToFollow(undefined, runs)).toBe(newer);
    expect(journalToFollow(join(runs, "2026-03-02-b"), "elsewhere")).toBe(older);
    expect(journalToFollow(older, "elsewhere")).toBe(older);
  });

  it("says what it expected and what to do where there is none", () => {
    expect(() => journalToFollow(undefined, runs)).toThrow(/found none.*--runs/);
    expect(() => journalToFollow(undefined, join(runs, "none"))).toThrow(
      /Name another with --runs/,
    );
    expect(() => journalToFollow(join(runs, "none"), runs)).toThrow(/there is no/);
    makeRun("run", "");
    expect(() => journalToFollow(runs, "elsewhere")).toThrow(/follow --runs/);
  });
});
