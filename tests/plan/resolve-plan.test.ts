/** What a plan holds once three files have been resolved. */
import { describe, expect, it } from "vitest";
import type { Plan } from "../../src/events/plan.ts";
import { problemLine } from "../../src/formats/problem.ts";
import { PROOF_TEXTS, type ProofTexts, resolveTexts, spoil } from "./proof-texts.ts";

function planOf(texts: ProofTexts = PROOF_TEXTS): Plan {
  const result = resolveTexts(texts);
  if (!result.ok) throw new Error(result.problems.map(problemLine).join("\n"));
  return result.plan;
}

const plan = planOf();

describe("a plan", () => {
  it("raises heater, bias, plate in this order, on the controller's outputs and channels", () => {
    expect(plan.rails.map(({ rail, output }) => [rail, output])).toEqual([
      ["heater", 1],
      ["bias", 2],
      ["plate", 3],
    ]);
    const number = new Map(plan.channels.map((channel) => [channel.name, channel.number]));
    expect(
      plan.rails.flatMap((rail) => [number.get(rail.sourceChannel), number.get(rail.boardChannel)]),
    ).toEqual([1, 2, 3, 4, 5, 6]);
  });

  it("keeps the sign of the bias in window and ceiling", () => {
    const bias = plan.rails.find((rail) => rail.rail === "bias");
    expect(bias).toMatchObject({
      nominalV: -24,
      window: { lowV: -26.4, highV: -21.6 },
      ceilingV: -30,
      fallMsMax: 8000,
    });
  });

  it("leaves bias out for a board without one", () => {
    let board = PROOF_TEXTS.board.replace(/^ {2}bias:.*\n/m, "");
    board = spoil(board, `"2": bias, `, "");
    const rig = PROOF_TEXTS.rig.replace(/^.*rail: bias.*\n/gm, "");
    expect(planOf({ ...PROOF_TEXTS, board, rig }).rails.map(({ rail }) => rail)).toEqual([
      "heater",
      "plate",
    ]);
  });

  it("holds each line with its sources and the channel that reads it back", () => {
    expect(plan.lines).toEqual([
      {
        line: "SET",
        output: 4,
        drive: "changeover",
        releasedLevel: "low",
        driverMs: 10,
        channel: "SET",
        source: { low: { volts: 0, ohm: 1000 }, high: { volts: 44, ohm: 10000, from: "plate" } },
      },
      {
        line: "RESET",
        output: 5,
        drive: "changeover",
        releasedLevel: "low",
        driverMs: 10,
        channel: "RESET",
        source: { low: { volts: 0, ohm: 1000 }, high: { volts: 44, ohm: 10000, from: "plate" } },
      },
      {
        line: "LAMP",
        output: 6,
        drive: "load",
        driverMs: 10,
        load: { net: "Q", ohm: 330_000, to: "common" },
        releasedLevel: null,
        channel: null,
        source: null,
      },
    ]);
  });

  it("takes low and high from whichever position of the contact has them", () => {
    const turned = PROOF_TEXTS.rig
      .replaceAll("released: { level: low, sourceV: 0, sourceOhm: 1000 }", "RELEASED")
      .replaceAll("operated: { level: high, from", "released: { level: high, from")
      .replaceAll("RELEASED", "operated: { level: low, sourceV: 0, sourceOhm: 1000 }");
    const [line] = planOf({ ...PROOF_TEXTS, rig: turned }).lines;
    expect(line?.releasedLevel).toBe("high");
    expect(line?.source).toEqual({
      low: { volts: 0, ohm: 1000 },
      high: { volts: 44, ohm: 10000, from: "plate" },
    });
  });

  it("spells repeats out and numbers every step", () => {
    expect(plan.steps).toHaveLength(23);
    expect(plan.steps.map((step) => step.index)).toEqual([...Array(23).keys()]);
    expect(plan.steps.map((step) => step.name).slice(0, 5)).toEqual([
      "reset",
      "release",
      "Q set",
      "set (1 of 10)",
      "unset (1 of 10)",
    ]);
    expect(plan.steps.at(-1)?.name).toBe("unset (10 of 10)");
  });

  it("puts a note with the step that follows it, and a last one with the last step", () => {
    expect(plan.steps[2]?.note).toBe("now the state must stay by itself");
    const sequence = `${PROOF_TEXTS.sequence}  - note: that was all\n`;
    const steps = planOf({ ...PROOF_TEXTS, sequence }).steps;
    expect(steps).toHaveLength(23);
    expect(steps.at(-1)?.note).toBe("that was all");
  });

  it("keeps a step's own note after the one that stood before it", () => {
    const sequence = spoil(
      PROOF_TEXTS.sequence,
      "    forMs: 120000\n",
      "    forMs: 120000\n    note: two minutes\n",
    );
    expect(
      planOf({ ...PROOF_TEXTS, sequence })
        .steps.slice(1, 4)
        .map((step) => step.note),
    ).toEqual([null, "now the state must stay by itself two minutes", null]);
  });

  it("holds exactly the most steps a pass may have", () => {
    // 3 steps stand before the repeat; two of 49998 rounds and one step more make 100000.
    let sequence = spoil(PROOF_TEXTS.sequence, "repeat: 10", "repeat: 49998");
    sequence += "  - { step: end, set: {}, settleMs: 100, expect: { Q: high } }\n";
    expect(planOf({ ...PROOF_TEXTS, sequence }).steps).toHaveLength(100_000);
  });

  it("estimates a pass by its waits and a little for reading", () => {
    // 22 patterns of 100 ms; a hold of 120 s and a flip of 5 s, each entered and released.
    const waitsMs = 22 * 100 + 120_000 + 5_000 + 4 * 100;
    expect(plan.estimatedPassMs).toBeGreaterThan(waitsMs);
    expect(plan.estimatedPassMs).toBeLessThan(waitsMs + 1_000);
  });

  it("is plain data that survives a journal", () => {
    expect(JSON.parse(JSON.stringify(plan))).toEqual(plan);
  });

  it("gives the cautions this board's own volts and defers to codes and licensed practice", () => {
    const text = plan.cautions.join("\n");
    expect(text).toContain("heater 14 V, bias -30 V, plate 55 V");
    expect(text).toContain("up to 85 V");
    expect(text).toMatch(/local codes/);
    expect(text).toMatch(/licensed/);
    expect(text).toMatch(/simulated/);
    const rig = spoil(
      PROOF_TEXTS.rig,
      "bench: { kind: emulated, circuit: circuit.yaml }",
      "bench: { kind: port, port: /dev/ttyACM0 }",
    );
    expect(planOf({ ...PROOF_TEXTS, rig }).cautions.join("\n")).not.toMatch(/simulated/);
  });
});

describe("the claims of a plan", () => {
  /** Both lines driven at the given volts, 1 kohm each, with dividers that hardly load them. */
  function drivenAt(lowV: number, highV: number): readonly string[] {
    const rig = PROOF_TEXTS.rig
      .replaceAll("level: low, sourceV: 0,", `level: low, sourceV: ${lowV},`)
      .replaceAll("sourceV: 44, sourceOhm: 10000", `sourceV: ${highV}, sourceOhm: 1000`);
    return planOf({ ...PROOF_TEXTS, rig }).claims;
  }

  it("say easy drive with the lines and levels", () => {
    expect(plan.claims[0]).toBe("easy drive: SET, RESET not driven at VIL 18 V and VIH 32 V");
  });

  it("drop easy drive within two percent of VIL and VIH, on either side", () => {
    expect(drivenAt(18, 32).join()).not.toMatch(/easy drive/);
    expect(drivenAt(18.3, 31.5).join()).not.toMatch(/easy drive/);
    expect(drivenAt(17.7, 32.5).join()).not.toMatch(/easy drive/);
    expect(drivenAt(17.5, 32).join()).toMatch(/easy drive/);
    expect(drivenAt(18, 33).join()).toMatch(/easy drive/);
  });

  it("say unloaded for a load that is never connected", () => {
    expect(plan.claims.join()).not.toMatch(/unloaded/);
    const sequence = spoil(PROOF_TEXTS.sequence, "move: [LAMP]", "move: []");
    const claims = planOf({ ...PROOF_TEXTS, sequence }).claims;
    expect(claims).toContain("unloaded: LAMP on Q never connected");
    expect(claims).toContain('not moved while "Q set" held: LAMP');
  });

  it("say unloaded for a load the rig does not have", () => {
    const rig = PROOF_TEXTS.rig.replace(/^.*line: LAMP.*\n/m, "");
    const sequence = spoil(PROOF_TEXTS.sequence, "move: [LAMP]", "move: []");
    expect(planOf({ ...PROOF_TEXTS, rig, sequence }).claims).toContain(
      "unloaded: LAMP on Q never connected",
    );
  });

  it("take a load as connected when a step drives it high", () => {
    let sequence = spoil(PROOF_TEXTS.sequence, "move: [LAMP]", "move: []");
    sequence = spoil(
      sequence,
      "step: release, set: { RESET: low }",
      "step: release, set: { RESET: low, LAMP: high }",
    );
    expect(planOf({ ...PROOF_TEXTS, sequence }).claims.join()).not.toMatch(/unloaded/);
  });

  it("always say that the uncertainty is not evaluated", () => {
    expect(plan.claims.at(-1)).toMatch(/^uncertainty not evaluated/);
  });
});
