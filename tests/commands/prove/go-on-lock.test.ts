/** Going on with a soak as a person asks for it: one program at a time, and nothing is left locked. */
import { spawnSync } from "node:child_process";
import {
  cpSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { createVirtualClock } from "../../../src/clock/virtual-clock.ts";
import { lockJournal } from "../../../src/commands/prove/journal-lock.ts";
import { soakOrder } from "../../../src/commands/prove/soak-options.ts";
import { openJournal } from "../../../src/journal/open-journal.ts";
import { shippedProof } from "../../bench/emulated-run.ts";

const root = resolve(import.meta.dirname, "../../..");
const BOARD = join(root, "sequences/flasher-latch");
const TORN = '{"n":2,"ms":3100,"bef';

let place = "";
let runs = "";
let journal = "";
beforeEach(async () => {
  place = mkdtempSync(join(tmpdir(), "holdfast-go-on-"));
  runs = join(place, "runs");
  journal = await killedSoak();
});
afterEach(() => rmSync(place, { recursive: true }));

/** The journal of a soak whose program died in the middle of a line. */
async function killedSoak(): Promise<string> {
  const { plan } = await shippedProof("flasher-latch");
  const asked = {
    forMs: null,
    cycles: 100,
    errorsMax: null,
    everyMs: null,
    goOn: ["host crash" as const],
    brokenOff: null,
    unattended: false,
    night: null,
  };
  const folder = join(runs, "2026-01-01-090000-flasher-latch");
  mkdirSync(folder, { recursive: true });
  const path = join(folder, "journal.ndjson");
  const opened = openJournal({ path, clock: createVirtualClock(), startMs: 0 });
  opened.append({
    kind: "run-opened",
    format: "holdfast-journal",
    version: 4,
    run: "2026-01-01-090000-flasher-latch",
    mode: "soak",
    unit: null,
    bench: "modelled bench",
    seed: 1,
    wall: "2026-01-01T09:00:00.000+00:00",
    program: "holdfast test",
    rule: "",
    plan,
    soak: soakOrder(asked, plan),
  });
  opened.append({
    kind: "controller",
    model: "CONTROLLER",
    serial: "0",
    firmware: "1.2.0",
    resetCause: "POR",
    bootCount: 1,
  });
  opened.seal();
  opened.close();
  writeFileSync(path, TORN, { flag: "a" });
  return path;
}

function goOn(folder = BOARD) {
  const args = ["soak", folder, "--night", "--plain", "--mute", "--runs", runs, "--go-on"];
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    ["--import", "tsx", "src/main.ts", ...args],
    { cwd: root, env: { ...process.env, XDG_RUNTIME_DIR: place }, encoding: "utf8" },
  );
  return { status, said: stdout + stderr };
}

const locks = (): string[] => readdirSync(join(place, "holdfast"));

describe("soak --go-on", () => {
  it("is refused while another program has the journal, which it leaves as it is", () => {
    const before = readFileSync(journal);
    const unlock = lockJournal(journal, {
      since: "22:00",
      pid: process.pid,
      environment: { XDG_RUNTIME_DIR: place },
    });
    const { status, said } = goOn();
    expect({ status, said }).toEqual({
      status: 2,
      said: expect.stringContaining(`(process ${process.pid}), since 22:00 is writing it`),
    });
    expect(readFileSync(journal).equals(before)).toBe(true);
    unlock();
    expect(goOn().status).toBe(0);
    const after = readFileSync(journal);
    const whole = before.length - TORN.length;
    expect(after.subarray(0, whole).equals(before.subarray(0, whole))).toBe(true);
    expect(locks()).toEqual([]);
  });

  it("leaves nothing locked where its files are not those it began with", () => {
    const folder = join(place, "latch");
    cpSync(BOARD, folder, { recursive: true });
    const board = join(folder, "board.yaml");
    writeFileSync(board, `${readFileSync(board, "utf8")}# VOH was lowered yesterday\n`);
    const before = readFileSync(journal);
    const { status, said } = goOn(folder);
    expect({ status, said }).toEqual({
      status: 2,
      said: expect.stringContaining("but board.yaml changed"),
    });
    expect(readFileSync(journal).equals(before)).toBe(true);
    expect(locks()).toEqual([]);
  });
});
