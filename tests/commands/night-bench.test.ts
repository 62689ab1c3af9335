/** The bench for nights judges boards as the emulated one does, and its link's mishaps reach the host. */
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { openNightBench, readScenario } from "../../src/commands/night-bench.ts";
import { runEmulated, shippedProof } from "../bench/emulated-run.ts";
import { runAtNight } from "../bench/night-run.ts";
import { scenarioWith } from "../simulate/quick/scenarios.ts";

/** What is asked is the verdict: holds need not be as long as a night. */
const haste = { holdMsMax: 2000, warmUpMsMax: 60_000, warmUpSettleMsMin: 400 };
const seed = 1;

describe("the bench for nights", () => {
  it.each([
    ["flasher-latch", []],
    ["fog-divider", []],
    ["flasher-latch", [{ part: "V1b", parameter: "emission", value: 0.5, atMs: null }]],
  ] as const)(
    "gives %s with %j the verdict of the emulated one",
    async (board, changes) => {
      const night = await runAtNight({ board, seed, changes, scenario: null, haste });
      const emulated = await runEmulated({ board, seed, changes, spread: null, haste });
      expect(night.verdict).toBe(emulated.verdict);
      expect(night.cause).toBe(emulated.cause);
      expect(night.firstMiss?.net).toBe(emulated.firstMiss?.net);
    },
    120_000,
  );

  it("gives the same journal for the same scenario, byte for byte", async () => {
    const scenario = scenarioWith(
      "supplies: { plate: { walkPercent: 1 } }\nlink: [{ mishap: spoiled line, timesPerHour: 60 }]",
    );
    const job = { board: "flasher-latch", seed, changes: [], scenario, haste };
    const [one, other] = [await runAtNight(job), await runAtNight(job)];
    expect(other.journalSha256).toBe(one.journalSha256);
  });
});

describe("a scenario file beside a proof", () => {
  it("is read, and refused where it names what that proof has not", async () => {
    const path = join(import.meta.dirname, "../../sequences/flasher-latch/night.yaml");
    const own = await readScenario(path, await shippedProof("flasher-latch"));
    expect(own.ok && own.scenario.scenario).toBe("cabin-in-october");
    const other = await readScenario(path, await shippedProof("watch-adder"));
    expect(other.ok ? [] : other.problems.map(({ offending }) => offending)).toEqual(["Q", "QN"]);
    const missing = await readScenario(`${path}.gone`, await shippedProof("flasher-latch"));
    expect(missing.ok ? "" : missing.problems[0]?.code).toBe("FILE_UNREADABLE");
  });
});

describe("mishaps of the link", () => {
  it("pulls the cable at its moment, refuses it while it is out, and takes it back", async () => {
    const proof = await shippedProof("flasher-latch");
    const scenario = scenarioWith("link: [{ mishap: unplugged, forS: 30, atHours: 0.01 }]");
    const bench = await openNightBench(proof, { seed, faults: [], scenario, paceRatio: null });
    try {
      let pulledMs: number | null = null;
      bench.port.stream.on("error", () => {
        pulledMs = bench.clock.nowMs();
      });
      bench.port.stream.resume();
      await bench.clock.delay(36_500);
      expect(pulledMs).toBeCloseTo(36_000, -1);
      expect(() => bench.link.open()).toThrow(/the cable is out/);
      await bench.clock.delay(30_000);
      expect(bench.link.open().name).toBe("modelled bench");
    } finally {
      bench.dispose();
    }
  });
});
