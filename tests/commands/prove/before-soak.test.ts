/** What a bench needs before it is left alone, and what is said of a soak before anything is energised. */
import { utimesSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { packageFolder } from "../../../src/commands/package-folder.ts";
import { loadProof, type Proof } from "../../../src/commands/proof-folder.ts";
import { beforeSoak } from "../../../src/commands/prove/before-soak.ts";
import type { RunEvent } from "../../../src/events/events.ts";
import type { SoakOrder } from "../../../src/events/soak.ts";
import { keepRigCheck, type RigCheck } from "../../../src/store/rig-checks.ts";
import { latchPlan } from "../../journal/latch-run.ts";
import { soakEvents } from "../../journal/soak-events.ts";
import { type RunsFolder, runsFolder } from "../history/runs-folder.ts";

const RIG_SHA = "5a".repeat(32);
const HOUR_MS = 3_600_000;
/** Two cycles a second. */
const CYCLES_AN_HOUR = 7200;
/** By this computer's own day, as the rule is. */
const EVENING_MS = new Date(2026, 4, 1, 22, 0).getTime();
const PAST_MIDNIGHT_MS = new Date(2026, 4, 2, 1, 10).getTime();

const plan = {
  ...latchPlan,
  sources: [{ role: "rig" as const, name: "rig.yaml", sha256: RIG_SHA }],
};

let runs: RunsFolder;
let proof: Proof;
beforeEach(async () => {
  runs = runsFolder();
  const loaded = await loadProof(join(packageFolder, "sequences/flasher-latch"));
  if (!loaded.ok) throw new Error("Expected the shipped proof to load.");
  const protection = {
    fuses: "heater 3 A, bias 0.1 A, plate 0.1 A",
    thermalCutOut: "70 degC at the card cage",
    offSwitch: "red knob by the door",
  };
  proof = { ...loaded.proof, plan, rig: { ...loaded.proof.rig, protection } };
});
afterEach(() => runs.remove());

/** An attended soak on a port, two hours long unless said otherwise. */
function soaked(
  run: string,
  {
    hours = 2,
    ...change
  }: { hours?: number } & Partial<Extract<RunEvent, { kind: "run-opened" }>> = {},
  closing: Partial<Extract<RunEvent, { kind: "run-closed" }>> = {},
): void {
  const shape = { cycles: hours * CYCLES_AN_HOUR + 10, wrongEvery: 0, driftV: 0 };
  const events = [...soakEvents(shape)].map(({ event }): RunEvent => {
    if (event.kind === "run-opened")
      return { ...event, run, bench: "/dev/ttyACM0", seed: null, plan, ...change };
    return event.kind === "run-closed" ? { ...event, ...closing } : event;
  });
  runs.put(run, events);
  const before = new Date(EVENING_MS - 24 * HOUR_MS);
  utimesSync(join(runs.path, run, "journal.ndjson"), before, before);
}

function tested(atMs: number, change: Partial<RigCheck> = {}): void {
  keepRigCheck(runs.path, {
    rig: plan.rig.name,
    board: plan.board.name,
    rigSha256: RIG_SHA,
    controller: { serial: "0", firmware: "1.2.0" },
    at: new Date(atMs).toISOString(),
    run: `check-${atMs}`,
    fit: true,
    findings: [],
    facts: {
      depth: "full",
      looks: [],
      quiet: [],
      contacts: [],
      deadMan: { setMs: 600, firedMs: 612, falls: [] },
    },
    ...change,
  });
}

function asked({
  wallMs = EVENING_MS,
  begunWallMs = null,
  isReal = true,
  ...change
}: {
  wallMs?: number;
  begunWallMs?: number | null;
  isReal?: boolean;
} & Partial<SoakOrder> = {}): Promise<string[]> {
  const order: SoakOrder = {
    cycle: [],
    forMs: 8 * HOUR_MS,
    cycles: null,
    errorsMax: null,
    everyMs: 500,
    readEveryMs: 300_000,
    power: null,
    dwell: null,
    goOn: ["host crash"],
    attendance: "unattended",
    ...change,
  };
  return beforeSoak(order, { proof, runs: runs.path, wallMs, isReal, begunWallMs });
}

describe("a bench that is to be left alone", () => {
  it("may be, with attended hours, a test of that day, protection and a longest time", async () => {
    soaked("one");
    tested(EVENING_MS - HOUR_MS);
    expect(await asked()).toHaveLength(1);
  });

  it("is told all that is missing at once", async () => {
    const { protection: _, ...bare } = proof.rig;
    proof = { ...proof, rig: bare };
    const refusal = asked({ forMs: null, cycles: 100_000 });
    await expect(refusal).rejects.toThrow(/longest time: say --hours/);
    await expect(refusal).rejects.toThrow(/protection in the rig file/);
    await expect(refusal).rejects.toThrow(/dead-man test of today/);
    await expect(refusal).rejects.toThrow(/2 h of soak with somebody there.*there are 0\.0 h/);
    await expect(refusal).rejects.toThrow(/local codes/);
  });

  it("needs nothing of this where nothing real is energised, nor where somebody stays", async () => {
    expect(await asked({ isReal: false })).toHaveLength(1);
    expect(await asked({ attendance: "attended" })).toHaveLength(1);
  });

  it.each([
    ["on another rig file", { plan: { ...plan, sources: [] } }, {}],
    ["on a simulated bench", { bench: "emulated", seed: 1 }, {}],
    ["ended by a trip", {}, { cause: "trip" as const }],
    ["too short", { hours: 1 }, {}],
  ])("takes no hours of a soak %s", async (_, opening, closing) => {
    tested(EVENING_MS - HOUR_MS);
    soaked("one", opening, closing);
    await expect(asked()).rejects.toThrow(/somebody there on this set-up; there are [01]\.0 h/);
  });

  it("takes hours of several soaks together", async () => {
    tested(EVENING_MS - HOUR_MS);
    soaked("one", { hours: 1 });
    soaked("two", { hours: 1 });
    expect(await asked()).toHaveLength(1);
  });

  it.each([
    ["of the day before", -24, {}],
    ["of another rig file", -1, { rigSha256: "00" }],
    ["that found the rig unfit", -1, { fit: false }],
    [
      "without a dead-man's",
      -1,
      { facts: { depth: "full", looks: [], quiet: [], contacts: [], deadMan: null } as const },
    ],
  ])("takes no test %s", async (_, hours, change) => {
    soaked("one");
    tested(EVENING_MS + hours * HOUR_MS, change);
    await expect(asked()).rejects.toThrow(/missing: a dead-man test of today[^;]*\. See/);
  });
});

describe("a soak that goes on with nobody there", () => {
  beforeEach(() => soaked("one"));

  it("does so past midnight by the test of the day on which it was begun", async () => {
    tested(EVENING_MS - HOUR_MS);
    expect(await asked({ wallMs: PAST_MIDNIGHT_MS, begunWallMs: EVENING_MS })).toHaveLength(1);
  });

  it("does so as well by a test made since", async () => {
    tested(EVENING_MS - HOUR_MS);
    tested(PAST_MIDNIGHT_MS - 60_000);
    expect(await asked({ wallMs: PAST_MIDNIGHT_MS, begunWallMs: EVENING_MS })).toHaveLength(1);
  });

  it("needs a new one once the hours that were asked for are over by the clock", async () => {
    tested(EVENING_MS - HOUR_MS);
    const wallMs = EVENING_MS + 8 * HOUR_MS + 60_000;
    await expect(asked({ wallMs, begunWallMs: EVENING_MS })).rejects.toThrow(/test of today/);
    tested(wallMs - 60_000);
    expect(await asked({ wallMs, begunWallMs: EVENING_MS })).toHaveLength(1);
  });

  it("needs a new one where the clock stands before its beginning", async () => {
    tested(EVENING_MS - HOUR_MS);
    const wallMs = EVENING_MS - 24 * HOUR_MS;
    await expect(asked({ wallMs, begunWallMs: EVENING_MS })).rejects.toThrow(/test of today/);
  });

  it("cannot begin by yesterday's test, however short ago that was", async () => {
    tested(EVENING_MS - HOUR_MS);
    await expect(asked({ wallMs: PAST_MIDNIGHT_MS })).rejects.toThrow(/test of today/);
  });
});

describe("a clock", () => {
  it("that is behind what was written here is refused", async () => {
    soaked("one");
    const ahead = new Date(EVENING_MS + HOUR_MS);
    utimesSync(join(runs.path, "one", "journal.ndjson"), ahead, ahead);
    await expect(asked({ attendance: "attended" })).rejects.toThrow(/clock to be right/);
    expect(await asked({ attendance: "attended", isReal: false })).toHaveLength(1);
  });
});
