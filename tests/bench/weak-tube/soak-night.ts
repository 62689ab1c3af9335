/**
 * A whole night of the program on the modelled bench: warm-up, cycles, full sets of readings, power-down, by the
 * run machine and the controller's protocol; the journal's events are what drift is judged from.
 */
import { createHash } from "node:crypto";
import { join, resolve } from "node:path";
import {
  loadProofFiles,
  type Proof,
  proofOf,
  readProofFolder,
} from "../../../src/commands/proof-folder.ts";
import type { Verdict } from "../../../src/events/levels.ts";
import type { Scenario } from "../../../src/formats/scenario.schema.ts";
import { USUAL_SPREAD } from "../../../src/simulate/circuit/board-model.ts";
import { openModelledBench } from "../../../src/simulate/modelled-bench.ts";
import { createQuickFixture } from "../../../src/simulate/quick/quick-fixture.ts";
import { DriftFeed, driftBoardOf } from "../../../src/verdict/drift/drift-feed.ts";
import type { DriftBoard, DriftSet } from "../../../src/verdict/drift/drift-set.ts";
import { soakOnBench } from "../soak-in-memory.ts";

const FOLDER = resolve(import.meta.dirname, "../../../sequences/flasher-latch");
/** The shipped rig with a sensor in the place that its second multiplexer has free: 0.5 V at 0 degrees, 10 mV a kelvin. */
const SENSOR =
  "temperature: { channel: 17, zeroMv: 500, mvPerK: 10, sourceOhm: 1000, capacitorNf: 100 }";
const HOUR_MS = 3_600_000;

export interface SoakNight {
  /** Parts and tubes of the unit. */
  readonly unit: number;
  readonly scenario: Scenario;
  readonly hours: number;
  /** From one cycle to the next, ms. */
  readonly everyMs: number;
}

export interface LivedNight {
  readonly verdict: Verdict;
  readonly detail: string;
  readonly cycles: number;
  readonly sets: readonly DriftSet[];
  readonly board: DriftBoard;
}

let loading: Promise<Proof> | null = null;

export function latchWithSensor(): Promise<Proof> {
  loading ??= (async () => {
    const { files } = await readProofFolder(FOLDER);
    const given = files.map((file) => {
      if (file.role !== "rig") return file;
      const text = file.text.replace(/^(reference: .*)$/m, `$1\n${SENSOR}`);
      const sha256 = createHash("sha256").update(text).digest("hex");
      return { ...file, path: join(FOLDER, "rig.yaml"), text, sha256 };
    });
    const loaded = await loadProofFiles(given);
    const result = loaded.problems.length > 0 ? null : proofOf(loaded);
    if (result === null || !result.ok) {
      const problems = result === null ? loaded.problems : result.problems;
      throw new Error(problems.map((one) => JSON.stringify(one)).join("\n"));
    }
    return result.proof;
  })();
  return loading;
}

export async function liveNight({
  unit,
  scenario,
  hours,
  everyMs,
}: SoakNight): Promise<LivedNight> {
  const { plan, circuit, rig } = await latchWithSensor();
  if (circuit === null || plan.soak === undefined)
    throw new Error("the latch has no circuit or soak");
  const fixture = createQuickFixture({ circuit, rig, seed: unit, spread: USUAL_SPREAD, scenario });
  const bench = openModelledBench({ fixture, paceRatio: null });
  const feed = new DriftFeed();
  const order = { forMs: hours * HOUR_MS, everyMs };
  const { end, cycles } = await soakOnBench(
    { bench, plan, seed: scenario.seed, order },
    ({ event }) => feed.take(event),
  );
  return {
    verdict: end.verdict,
    detail: end.detail,
    cycles,
    sets: feed.sets,
    board: driftBoardOf(plan),
  };
}
