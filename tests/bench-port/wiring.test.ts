import { describe, expect, it } from "vitest";
import { readWiringAnswer, wiringDifferences, wiringOfPlan } from "../../src/bench/wiring.ts";
import type { Plan, PlannedChannel, PlannedLine, PlannedRail } from "../../src/events/plan.ts";
import { rigWiring } from "./bench-rig.ts";

const ANSWER = "HEATer,1,1,2;BIAS,2,3,4;PLATe,3,5,6;HIGH";

describe("wiringOfPlan", () => {
  const channel = (name: string, number: number): PlannedChannel => ({
    name,
    number,
    reads: { kind: "net", net: name },
    divider: { topOhm: 1, bottomOhm: 1, pullUpOhm: null },
    referenceV: 5,
  });
  const rail: PlannedRail = {
    rail: "plate",
    output: 3,
    nominalV: 48,
    window: { lowV: 45.6, highV: 50.4 },
    ceilingV: 55,
    safeV: 10,
    sourceChannel: "plate.source",
    boardChannel: "plate.board",
    riseMsMax: 500,
    fallMsMax: 1500,
  };
  const load: PlannedLine = {
    line: "LAMP",
    output: 6,
    drive: "load",
    releasedLevel: null,
    channel: null,
    source: null,
  };
  const set: PlannedLine = {
    line: "SET",
    output: 4,
    drive: "changeover",
    releasedLevel: "high",
    channel: "Q",
    source: null,
  };

  function planOf(channels: readonly PlannedChannel[]): Plan {
    const part: Pick<Plan, "rig" | "rails" | "lines" | "channels"> = {
      rig: { name: "cabin-bench" },
      rails: [rail],
      lines: [load, set],
      channels,
    };
    return part as Plan;
  }

  it("takes numbers from the plan, and a load that is released for low", () => {
    const plan = planOf([channel("plate.source", 5), channel("plate.board", 6), channel("Q", 7)]);
    const wiring = wiringOfPlan(plan);
    expect(wiring.rails.get("plate")).toEqual({ output: 3, sourceChannel: 5, boardChannel: 6 });
    expect(wiring.lines.get("LAMP")).toEqual({ output: 6, releasedLevel: "low", driverUs: 10_000 });
    expect(wiring.lines.get("SET")).toEqual({ output: 4, releasedLevel: "high", driverUs: 10_000 });
    expect(wiring.channels.get("Q")).toBe(7);
    expect(wiring.rig).toBe("cabin-bench");
  });

  it("takes a rail channel that the plan does not list for a mistake", () => {
    expect(() => wiringOfPlan(planOf([channel("plate.source", 5)]))).toThrow("plate.board");
  });
});

describe("wiringDifferences", () => {
  it("finds none against the controller's published wiring", () => {
    const answer = readWiringAnswer(ANSWER);
    expect(answer && wiringDifferences(rigWiring, answer)).toEqual([]);
  });

  it("lets a rig without bias use a controller that has it", () => {
    const answer = readWiringAnswer(ANSWER);
    const rails = new Map([...rigWiring.rails].filter(([name]) => name !== "bias"));
    expect(answer && wiringDifferences({ ...rigWiring, rails }, answer)).toEqual([]);
  });

  it.each(["", "HIGH", "HEATer,1,1;HIGH", "HEATer,1,1,2,3;HIGH", "HEATer,a,b,c;HIGH"])(
    "does not read %j as a wiring",
    (text) => {
      expect(readWiringAnswer(text)).toBeNull();
    },
  );
});
