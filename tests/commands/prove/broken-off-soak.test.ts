/** A soak that was broken off goes on with its own files, on its own board, by one program, or not at all. */
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { createVirtualClock } from "../../../src/clock/virtual-clock.ts";
import {
  causeOfBreak,
  readBrokenOffSoak,
  requireSameFiles,
} from "../../../src/commands/prove/broken-off-soak.ts";
import { lockJournal } from "../../../src/commands/prove/journal-lock.ts";
import { continueRunFiles } from "../../../src/commands/prove/run-files.ts";
import { soakOrder } from "../../../src/commands/prove/soak-options.ts";
import { UsageError } from "../../../src/commands/usage-error.ts";
import type { RunEvent } from "../../../src/events/events.ts";
import type { GoOnAfter } from "../../../src/events/soak.ts";
import { openJournal } from "../../../src/journal/open-journal.ts";
import { shippedProof } from "../../bench/emulated-run.ts";

let runs: string;
beforeEach(() => {
  runs = mkdtempSync(join(tmpdir(), "holdfast-broken-off-"));
});
afterEach(() => rmSync(runs, { recursive: true }));

const asked = (goOn: readonly GoOnAfter[]) => ({
  forMs: null,
  cycles: 100,
  errorsMax: null,
  everyMs: null,
  goOn,
  brokenOff: null,
  unattended: false,
  night: null,
});

/** The first lines of a soak, and then no more. */
async function brokenOff(goOn: readonly GoOnAfter[] = ["host crash"], ...more: RunEvent[]) {
  const { plan } = await shippedProof("flasher-latch");
  const folder = join(runs, "night");
  mkdirSync(folder);
  const path = join(folder, "journal.ndjson");
  const journal = openJournal({ path, clock: createVirtualClock(), startMs: 0 });
  journal.append({
    kind: "run-opened",
    format: "holdfast-journal",
    version: 1,
    run: "night",
    mode: "soak",
    unit: null,
    bench: "bench",
    seed: null,
    wall: "2026-11-27T22:00:00.000+00:00",
    program: "holdfast test",
    rule: "",
    plan,
    soak: soakOrder(asked(goOn), plan),
  });
  const identity = { model: "bench", serial: "1", firmware: "1.2.0" };
  journal.append({ kind: "controller", ...identity, resetCause: "POR", bootCount: 3 });
  for (const event of more) journal.append(event);
  journal.seal();
  journal.close();
  return path;
}

const FOUND = { resetCause: "EXT", bootCount: 4, isTripped: false };

describe("a soak that was broken off", () => {
  it("goes on with the files it began with", async () => {
    await brokenOff();
    const soak = readBrokenOffSoak(undefined, runs);
    requireSameFiles(soak, await shippedProof("flasher-latch"));
    expect(causeOfBreak(soak, FOUND, false)).toBe("host crash");
  });

  it("is refused on another board", async () => {
    await brokenOff();
    const soak = readBrokenOffSoak(undefined, runs);
    const other = await shippedProof("fog-divider");
    expect(() => requireSameFiles(soak, other)).toThrow(/board\.yaml.* changed/);
  });

  it.each(["board", "rig", "sequence"] as const)(
    "is refused when its %s file changed",
    async (role) => {
      await brokenOff();
      const soak = readBrokenOffSoak(undefined, runs);
      const proof = await shippedProof("flasher-latch");
      const sources = proof.plan.sources.map((source) =>
        source.role === role ? { ...source, sha256: "0".repeat(64) } : source,
      );
      const changed = { ...proof, plan: { ...proof.plan, sources } };
      expect(() => requireSameFiles(soak, changed)).toThrow(`${role}.yaml changed`);
    },
  );

  it("stays off when nothing was chosen, or something else", async () => {
    await brokenOff([]);
    expect(() => readBrokenOffSoak(undefined, runs)).toThrow("was not chosen when it began");
    rmSync(join(runs, "night"), { recursive: true });
    await brokenOff(["mains cut"]);
    const soak = readBrokenOffSoak(undefined, runs);
    expect(() => causeOfBreak(soak, FOUND, false)).toThrow("it was a host crash");
  });

  it("stays off after a trip, told or latched, and after restarts that nobody can explain", async () => {
    await brokenOff();
    const soak = readBrokenOffSoak(undefined, runs);
    expect(() => causeOfBreak(soak, { ...FOUND, isTripped: true }, false)).toThrow(
      "trip is latched",
    );
    const bitten = { ...FOUND, resetCause: "WDT" };
    expect(() => causeOfBreak(soak, bitten, false)).toThrow("nobody knows why");
    const often = { ...FOUND, bootCount: 9 };
    expect(() => causeOfBreak(soak, often, true)).toThrow("restarted 6 times");
    rmSync(join(runs, "night"), { recursive: true });
    const tripped = { kind: "controller-event", event: "tripped", detail: "" } as const;
    await brokenOff(["host crash"], { ...tripped, channel: "plate.board", volts: 60 });
    expect(() => readBrokenOffSoak(undefined, runs)).toThrow("ended with a trip");
  });

  it("is not written on where the disk lets nobody write, and says that its lines are safe", async () => {
    await brokenOff();
    const soak = readBrokenOffSoak(undefined, runs);
    const readOnly = (): never => {
      throw Object.assign(new Error("EROFS: read-only file system"), { code: "EROFS" });
    };
    const clock = createVirtualClock({ wallStart: "2026-11-27T22:10:00.000+00:00" });
    expect(() => continueRunFiles(soak, { clock, isReal: true }, readOnly)).toThrow(
      /after the 2 sealed lines.*safe/,
    );
  });
});

describe("the lock of a journal", () => {
  const given = () => ({ since: "22:00", environment: { XDG_RUNTIME_DIR: runs } });

  it("lets one program have it, names that one, and is free once it is let go", async () => {
    const path = await brokenOff();
    const unlock = lockJournal(path, { ...given(), pid: 1000 }, () => true);
    const second = () => lockJournal(path, { ...given(), pid: 2000 }, () => true);
    expect(second).toThrow(UsageError);
    expect(second).toThrow("process 1000");
    unlock();
    expect(second).not.toThrow();
  });

  it("of a program that died holds up nobody", async () => {
    const path = await brokenOff();
    lockJournal(path, { ...given(), pid: 1000 }, () => true);
    const next = () => lockJournal(path, { ...given(), pid: 2000 }, (pid) => pid !== 1000);
    expect(next).not.toThrow();
  });
});
