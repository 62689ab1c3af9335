/** The quick check of the rig before a proof: what moves by itself is seen before anything is switched. */
import { describe, expect, it } from "vitest";
import { BenchError } from "../../src/bench/bench-error.ts";
import { eventsOf, rehearse, untilEnd } from "./rehearse.ts";
import type { ScriptedBench } from "./scripted-bench.ts";

const rigCheck = { depth: "quick", alone: false, newest: null } as const;

function begin(spoil: (bench: ScriptedBench) => void, alone = false) {
  return rehearse({
    prepare: ({ bench }) => spoil(bench),
    options: { rigCheck: { ...rigCheck, alone } },
  });
}

/** Q swings by so many code steps around where it stands; each window's mean is so far from the last. */
function restless(steps: number, driftSteps: number) {
  return (bench: ScriptedBench): void => {
    const spread = bench.readSpread.bind(bench);
    let turn = 0;
    bench.readSpread = async (channels, samples) =>
      (await spread(channels, samples)).map((raw) => {
        if (raw.channel !== "Q") return raw;
        turn += 1;
        const middle = 100 + steps + driftSteps * turn;
        return {
          ...raw,
          sum: middle * raw.count,
          min: middle - steps / 2,
          max: middle + steps / 2,
        };
      });
  };
}

describe("the quick check before a proof", () => {
  it("finds nothing on a good rig, is written down once, and lets the proof pass", async () => {
    const rehearsal = begin(() => undefined);
    expect((await untilEnd(rehearsal)).verdict).toBe("pass");
    const found = eventsOf(rehearsal, "rig-checked");
    expect(found).toHaveLength(1);
    expect(found[0]).toMatchObject({ fit: true, findings: [], facts: { depth: "quick" } });
  });

  it("voids the run before anything is switched when an input floats", async () => {
    const rehearsal = begin(restless(10, 20));
    expect(await untilEnd(rehearsal)).toMatchObject({
      verdict: "void",
      cause: "rig unfit",
      allProvedOff: true,
    });
    expect(eventsOf(rehearsal, "rail-switched").filter(({ on }) => on)).toEqual([]);
  });

  it("remarks on a hum that leaves the margins room, and goes on", async () => {
    const rehearsal = begin(restless(10, 0));
    expect((await untilEnd(rehearsal)).verdict).toBe("pass");
    const [found] = eventsOf(rehearsal, "rig-checked");
    expect(found?.findings).toMatchObject([{ kind: "pick-up", where: "Q", severity: "remark" }]);
  });

  it("voids the run for a hum of more than half the smaller noise margin", async () => {
    const rehearsal = begin(restless(200, 0));
    expect((await untilEnd(rehearsal)).cause).toBe("rig unfit");
  });

  it("goes on with a controller that reads nothing over a period, and says what it did not look for", async () => {
    const rehearsal = begin((bench) => {
      bench.readSpread = async () => {
        const facts = { command: "MEAS:SPRE?", number: -113, text: "Undefined header", attempt: 1 };
        throw new BenchError("refused", facts);
      };
    });
    expect((await untilEnd(rehearsal)).verdict).toBe("pass");
    const remarks = eventsOf(rehearsal, "remark").map(({ text }) => text);
    expect(remarks.join()).toContain("floating inputs were not looked for");
  });

  it("switches nothing when it is all that was asked for", async () => {
    const rehearsal = begin(() => undefined, true);
    expect(await untilEnd(rehearsal)).toMatchObject({ verdict: "not tested", cause: "completed" });
    expect(eventsOf(rehearsal, "rail-switched").filter(({ on }) => on)).toEqual([]);
  });
});
