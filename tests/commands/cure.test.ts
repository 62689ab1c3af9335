import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { AskedCure } from "../../src/commands/cure.ts";
import { cureCommand } from "../../src/commands/cure.ts";
import type { RunEvent } from "../../src/events/events.ts";
import type { SoakOrder } from "../../src/events/soak.ts";
import { NO_COUNTS } from "../../src/journal/soak-snapshot.ts";
import { healthyEvents, judgedNet } from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";
import { order } from "../record/soak-night.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-cure-"));
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});

const opened = healthyEvents.find((event) => event.kind === "run-opened");

interface Soak {
  readonly cycles: number;
  /** Cycles that were wrong, and the net. */
  readonly errors?: readonly (readonly [cycle: number, net: string])[];
  readonly unit?: string;
  readonly order?: SoakOrder;
}

/** A soak's journal on disk. */
function soaked(name: string, { cycles, errors = [], unit = "LV-07", order: asked = order }: Soak) {
  if (opened === undefined) throw new Error("The run has no opening.");
  const wall = opened.wall;
  const events: RunEvent[] = [
    { ...opened, mode: "soak", unit, soak: asked },
    { kind: "leg-begun", leg: 1, why: "first", wall, gapMs: null, tornBytes: 0 },
    ...errors.map(
      ([cycle, net], at): RunEvent => ({
        kind: "cycle-error",
        error: at + 1,
        cycle,
        step: 1,
        onMs: 1000 * cycle,
        wall,
        readings: [judgedNet(net, "low", 30)],
        own: { cycle, ms: 0, volts: [] },
        before: [],
        rails: [],
        referenceV: null,
        celsius: null,
        repeats: 0,
        moved: [],
      }),
    ),
    {
      kind: "soak-tally",
      counts: { ...NO_COUNTS, cycles, wrong: errors.length, cyclingMs: 1000 * cycles },
      spans: [],
    },
  ];
  const path = join(folder, `${name}.ndjson`);
  writeFileSync(path, writeRun(events).bytes);
  return path;
}

function cure(before: string, after: readonly string[], asked: Partial<AskedCure> = {}) {
  const said: string[] = [];
  const wrong: string[] = [];
  const io = { out: (line: string) => said.push(line), error: (line: string) => wrong.push(line) };
  const status = cureCommand(before, after, { sure: "95", ...asked }, io);
  return { status, said, wrong };
}

/** Three times, of which one lasted two cycles. */
const before: Soak = {
  cycles: 7200,
  errors: [
    [100, "QN"],
    [3000, "QN"],
    [3001, "QN"],
    [7000, "QN"],
  ],
};

describe("cureCommand", () => {
  it("adds up the soaks since and says how many clean cycles are missing", () => {
    const was = soaked("before", before);
    const since = [soaked("one", { cycles: 5000 }), soaked("two", { cycles: 2200 })];
    const { status, said } = cure(was, since);
    expect(status).toBe(1);
    expect(said[0]).toBe("3 errors in 7200 cycles before the repair; 7200 clean cycles since.");
    // At a second a cycle; (n1 / (n1 + n2))^3 = 0.05 gives 5144 more, about.
    expect(said[2]).toMatch(
      /^51\d\d more clean cycles, 1 h 26 min, show a change at the 5 % level/,
    );
  });

  it("leaves with 0 once it is shown, and says so as data", () => {
    const { status, said } = cure(soaked("before", before), [soaked("after", { cycles: 20_000 })], {
      json: true,
    });
    expect(status).toBe(0);
    expect(JSON.parse(said.join(""))).toMatchObject({
      state: "shown",
      before: { errors: 3, cycles: 7200 },
      after: { errors: 0, cycles: 20_000 },
      cyclesNeeded: 0,
    });
  });

  it("calls no cure what came back, and takes another net's error for another fault", () => {
    const was = soaked("before", before);
    const since = [soaked("after", { cycles: 50_000, errors: [[600, "Q"]] })];
    const { status, said } = cure(was, since);
    expect(status).toBe(1);
    expect(said[0]).toMatch(/^Not cured: 1 error in 50000 cycles/);
    expect(cure(was, since, { net: "QN" }).status).toBe(0);
  });

  it("refuses what cannot be compared, and says why", () => {
    const was = soaked("before", before);
    const other = soaked("other", { cycles: 9, unit: "LV-08" });
    const shorter = soaked("shorter", {
      cycles: 9,
      order: { ...order, cycle: order.cycle.slice(1) },
    });
    expect(() => cure(was, [other])).toThrow(/another unit/);
    expect(() => cure(was, [shorter])).toThrow(/another cycle/);
    expect(() => cure(soaked("clean", { cycles: 9 }), [was])).toThrow(/there are none/);
    expect(() => cure(was, [was], { net: "P" })).toThrow(/of P in/);
    expect(() => cure(was, [was], { sure: "often" })).toThrow(/--sure/);
    expect(() => cure(soaked("empty", { cycles: 0 }), [was])).toThrow(/sealed/);
    expect(() => cure(join(folder, "gone"), [was])).toThrow(/there is none/);
    const torn = join(folder, "torn.ndjson");
    writeFileSync(torn, "no journal\n");
    expect(cure(torn, [was])).toMatchObject({ status: 2 });
  });
});
