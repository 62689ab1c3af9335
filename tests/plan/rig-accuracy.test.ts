/** What a rig file says of its own accuracy: the rule it allows, what it leaves to be said, what is refused. */
import { describe, expect, it } from "vitest";
import type { Plan } from "../../src/events/plan.ts";
import { problemLine } from "../../src/formats/problem.ts";
import { PROOF_TEXTS, resolveTexts, spoil } from "./proof-texts.ts";

const ACCURACY = "accuracy: { resistorPercent: 1, referencePercent: 5 }\n";
const REFERENCE =
  "reference: { channel: 20, volts: 2.5, percent: 0.4, sourceOhm: 1000, capacitorNf: 100 }\n";

interface Changes {
  readonly rig?: string;
  readonly board?: string;
}

function resolved({ rig = "", board = "" }: Changes) {
  return resolveTexts({
    ...PROOF_TEXTS,
    rig: PROOF_TEXTS.rig + rig,
    board: PROOF_TEXTS.board + board,
  });
}

function planOf(changes: Changes): Plan {
  const result = resolved(changes);
  if (!result.ok) throw new Error(result.problems.map(problemLine).join("; "));
  return result.plan;
}

function refusalsOf(changes: Changes): string[] {
  const result = resolved(changes);
  return result.ok ? [] : result.problems.map(problemLine);
}

describe("the rule of a plan", () => {
  it("is simple, and not evaluated, while the rig file says nothing of its parts", () => {
    expect(planOf({}).rule).toMatchObject({ name: "simple", evaluated: false });
  });

  it("is guarded as soon as it does", () => {
    const { rule, accuracy } = planOf({ rig: ACCURACY });
    expect(rule).toMatchObject({ name: "guarded", evaluated: true });
    // 2 LSB absolute accuracy, typical (ATmega328P data sheet); the rest as the file has it.
    expect(accuracy).toMatchObject({ resistorPart: 0.01, referencePart: 0.05, linearitySteps: 2 });
  });

  it("is simple by name where the board file asks for it", () => {
    expect(planOf({ rig: ACCURACY, board: "rule: simple\n" }).rule).toMatchObject({
      name: "simple",
      evaluated: true,
    });
  });

  it("says what weakens it, net by net", () => {
    const said = (changes: Changes) => planOf(changes).claims.join("\n");
    expect(said({ rig: ACCURACY })).toMatch(/Q, QN not calibrated/);
    expect(said({ rig: ACCURACY })).toMatch(/source resistance of Q, QN not known/);
    expect(said({ rig: ACCURACY })).toMatch(/pick-up on Q, QN not known/);
    expect(said({ rig: ACCURACY })).toMatch(/ground shift not measured/);
    const sources = "sources: { Q: { lowOhm: 9000, highOhm: 42000, percent: 15 } }\n";
    expect(said({ rig: ACCURACY, board: sources })).toMatch(/source resistance of QN not known/);
  });

  it("cannot be guarded by a rig that does not know how well it reads", () => {
    expect(refusalsOf({ board: "rule: guarded\n" })).toEqual([
      "board.yaml:19:7: guarded: a guarded rule takes the uncertainty off the limits, and this rig's is not evaluated; add accuracy to the rig file, or write rule: simple",
    ]);
  });
});

describe("channels of the rig itself", () => {
  it("become channels of the plan, read before what they bear upon", () => {
    const plan = planOf({ rig: ACCURACY + REFERENCE });
    expect(plan.channels.find(({ name }) => name === "reference")).toMatchObject({
      number: 20,
      reads: { kind: "reference", volts: 2.5, part: 0.004 },
    });
  });

  it.each([
    ["channel: 20", "channel: 7", /channel 7 reads Q already/],
    ["channel: 20", "channel: 5", /reads plate\.source already/],
    ["volts: 2.5", "volts: 4.9", /98 % of the converter's 5 V/],
    ["volts: 2.5", "volts: 0.6", /12 % of the converter's 5 V/],
  ])("are refused with %s as %s", (from, to, why) => {
    const text = spoil(REFERENCE, from, to);
    expect(refusalsOf({ rig: ACCURACY + text }).join("\n")).toMatch(why);
  });
});

describe("sources of nets", () => {
  it("name nets of the board", () => {
    const text = "sources: { K: { lowOhm: 1, highOhm: 1, percent: 1 } }\n";
    expect(refusalsOf({ board: text })[0]).toContain("K: not a net of the board");
  });

  it("refuse a pull-up on a net behind megohms, which it would lift", () => {
    const rig = spoil(
      PROOF_TEXTS.rig,
      "net: Q, topOhm: 1000000, bottomOhm: 100000,",
      "net: Q, topOhm: 1000000, bottomOhm: 47000, pullUpOhm: 100000,",
    );
    const withSource = (ohm: number) =>
      resolveTexts({
        ...PROOF_TEXTS,
        rig,
        board: `${PROOF_TEXTS.board}sources: { Q: { lowOhm: 1000, highOhm: ${ohm}, percent: 10 } }\n`,
      });
    expect(withSource(47_000).ok).toBe(true);
    const refused = withSource(1_000_000);
    expect(refused.ok ? [] : refused.problems.map(problemLine)).toEqual([
      expect.stringContaining("Q stands behind 1000 k, and a pull-up lifts it"),
    ]);
  });
});

describe("a hold with a light one before it", () => {
  it("is two steps, the first read at its ends alone", () => {
    const sequence = spoil(
      PROOF_TEXTS.sequence,
      "forMs: 120000",
      "forMs: 120000\n    lightMs: 5000",
    );
    const result = resolveTexts({ ...PROOF_TEXTS, sequence });
    if (!result.ok) throw new Error(result.problems.map(problemLine).join("; "));
    const holds = result.plan.steps.filter(({ kind }) => kind === "hold");
    expect(holds).toHaveLength(2);
    expect(holds[0]).toMatchObject({ light: true, forMs: 5000, readEveryMs: 5000 });
    expect(holds[1]).not.toHaveProperty("light");
    expect(result.plan.steps.map(({ index }) => index)).toEqual(
      result.plan.steps.map((_, at) => at),
    );
  });
});
