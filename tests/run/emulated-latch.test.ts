/** The shipped latch on the emulated bench: real firmware, real client, real journal, whole run. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { connectController } from "../../src/bench/connect-controller.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import { firmwareText } from "../../src/commands/emulated-fixture.ts";
import { loadProof } from "../../src/commands/proof-folder.ts";
import type { JournalEntry } from "../../src/events/events.ts";
import type { Plan } from "../../src/events/plan.ts";
import { openJournal } from "../../src/journal/open-journal.ts";
import { type RunEnd, startRun } from "../../src/run/start-run.ts";
import { openEmulatedBench } from "../../src/simulate/emulated-bench.ts";
import { createFixture } from "../../src/simulate/fixture/create-fixture.ts";
import type { PartChange } from "../../src/simulate/fixture.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-run-"));
});
afterEach(() => rmSync(folder, { recursive: true }));

const sequences = join(import.meta.dirname, "../../sequences");

/** Long holds and long patience belong to the figures; here they only have to be whole. */
function shortened(plan: Plan): Plan {
  const steps = plan.steps.map((step) =>
    step.kind === "hold" ? { ...step, forMs: 3000, flip: { ...step.flip, forMs: 1000 } } : step,
  );
  // Healthy sections are warm after some 20 s; the file allows for three times that.
  return { ...plan, steps, warmUp: { ...plan.warmUp, timeoutMs: 30_000 } };
}

interface EmulatedRun {
  readonly end: RunEnd;
  readonly entries: readonly JournalEntry[];
  readonly journal: string;
  /** Plate above its safe volts with bias outside its window, by the bench's own log. */
  readonly violations: readonly string[];
}

async function prove(
  name: string,
  changes: readonly PartChange[] = [],
  altered: (plan: Plan) => Plan = (plan) => plan,
): Promise<EmulatedRun> {
  const loaded = await loadProof(join(sequences, "flasher-latch"));
  if (!loaded.ok || loaded.proof.circuit === null)
    throw new Error("The shipped latch does not load.");
  const { circuit, rig } = loaded.proof;
  const plan = altered(shortened(loaded.proof.plan));
  const fixture = createFixture({ circuit, rig, seed: 7, changes });
  const emulated = openEmulatedBench({ fixture, hexText: firmwareText(), seed: 7 });
  const violations: string[] = [];
  const bias = plan.rails.find(({ rail }) => rail === "bias");
  const plate = plan.rails.find(({ rail }) => rail === "plate");
  emulated.log((entry) => {
    if (entry.kind !== "volts" || bias === undefined || plate === undefined) return;
    const { rails } = entry;
    const biasGood = rails.bias >= bias.window.lowV && rails.bias <= bias.window.highV;
    if (rails.plate > plate.safeV && !biasGood) violations.push(JSON.stringify(entry));
  });
  try {
    const { clock, port } = emulated;
    const bench = await connectController({ port, clock, wiring: wiringOfPlan(plan) });
    const path = join(folder, `${name}.ndjson`);
    const journal = openJournal({ path, clock, startMs: clock.nowMs() });
    const entries: JournalEntry[] = [];
    journal.subscribe((entry) => entries.push(entry));
    const run = startRun({
      plan,
      bench,
      clock,
      journal,
      run: "emulated-latch",
      unit: null,
      seed: 7,
      benchName: "emulated bench",
      program: "holdfast test",
    });
    const end = await run.done;
    journal.close();
    await bench.close();
    return { end, entries, journal: readFileSync(path, "utf8"), violations };
  } finally {
    emulated.dispose();
  }
}

/** Some ten seconds of work where nothing else runs. */
const TIMEOUT_MS = 180_000;

describe("the shipped latch on the emulated bench", { timeout: TIMEOUT_MS }, () => {
  it("passes, ends proved off, and leaves the same journal byte for byte when run again", async () => {
    const one = await prove("one");
    expect(one.end).toMatchObject({ verdict: "pass", cause: "completed", allProvedOff: true });
    expect(one.violations).toEqual([]);
    const other = await prove("other");
    expect(other.journal).toBe(one.journal);
  });

  it("passes on the longest averages over the mains, which may not keep the dead-man waiting", async () => {
    const { end } = await prove("mains", [], (plan) => ({
      ...plan,
      mains: { hz: 60, samples: 50 },
    }));
    expect(end).toMatchObject({ verdict: "pass", cause: "completed", allProvedOff: true });
  });

  it("fails a dead section by its net, with volts, and still ends proved off", async () => {
    const { end, violations } = await prove("dead", [
      { part: "V1a", parameter: "emission", value: 0.01, atMs: null },
    ]);
    expect(end).toMatchObject({ verdict: "fail", cause: "not warm", allProvedOff: true });
    expect(end.detail).toMatch(/: QN \(V1a\) reads \d+\.\d\d V, expected at or below/);
    expect(violations).toEqual([]);
  });

  it("reports a rail whose lead came off as unproved and passes nothing", async () => {
    const { end, violations } = await prove("lead", [
      { part: "lead.plate.board", parameter: "open", value: 1, atMs: 15_000 },
    ]);
    expect(end.verdict).toBe("void");
    expect(end.allProvedOff).toBe(false);
    const plate = end.falls.find(({ rail }) => rail === "plate");
    expect(["unproved", "lead lost"]).toContain(plate?.proof);
    expect(violations).toEqual([]);
  });
});
