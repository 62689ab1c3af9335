/** The one word of a soak that shows across the room, and what outranks what. */
import { describe, expect, it } from "vitest";
import type { RunSnapshot } from "../../src/journal/snapshot.ts";
import { stateWord } from "../../src/screen/state-word.ts";
import { soakExamples } from "./soak-examples.ts";

function example(name: string): RunSnapshot {
  const snapshot = soakExamples[name];
  if (snapshot === undefined) throw new Error(`no soak is called ${name}`);
  return snapshot;
}

describe("the state word of a soak", () => {
  it.each([
    ["soak-right", "SOAK", "strong"],
    ["soak-no-drift", "SOAK", "strong"],
    ["soak-drift", "DRIFT", "warning"],
    ["soak-wrong", "WRONG", "bad"],
    ["soak-power-off", "OFF", "warning"],
    ["soak-link-lost", "LIVE!", "bad"],
    ["soak-drift-ended", "PASS", "good"],
    ["soak-ended", "FAIL", "bad"],
  ])("of %s is %s", (name, word, tone) => {
    expect(stateWord(example(name))).toEqual({ word, tone });
  });

  it("is WRONG before it is DRIFT, and says neither once nothing is heard or a rail may be live", () => {
    const drifting = example("soak-drift");
    const { soak } = drifting;
    if (soak === undefined) throw new Error("no soak");
    const wrong = { ...drifting, soak: { ...soak, counts: { ...soak.counts, wrong: 1 } } };
    expect(stateWord(wrong).word).toBe("WRONG");
    expect(stateWord(drifting, true).word).toBe("SILENT");
    const [rail, ...rest] = drifting.rails;
    if (rail === undefined) throw new Error("no rail");
    const live = {
      ...drifting,
      rails: [{ ...rail, on: false, fall: "unproved" as const }, ...rest],
    };
    expect(stateWord(live).word).toBe("LIVE!");
  });
});
