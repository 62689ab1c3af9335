/** Expectations a sequence leaves out: filled in by the model, told as such, and never in place of a word written. */
import { describe, expect, it } from "vitest";
import type { Plan } from "../../src/events/plan.ts";
import { problemLine } from "../../src/formats/problem.ts";
import { planSchema } from "../../src/journal/plan.schema.ts";
import { latchWith, SHIPPED, shippedTexts } from "../logic/expect/walk-texts.ts";
import { PROOF_TEXTS, type ProofTexts, resolveTexts, spoil } from "./proof-texts.ts";

function planOf(texts: ProofTexts): Plan {
  const result = resolveTexts(texts);
  if (!result.ok) throw new Error(result.problems.map(problemLine).join("\n"));
  return result.plan;
}

function problemsOf(texts: ProofTexts): string[] {
  const result = resolveTexts(texts);
  return result.ok ? [] : result.problems.map(problemLine);
}

/** A sequence without a single class. */
function blank(texts: ProofTexts): ProofTexts {
  return {
    ...texts,
    sequence: texts.sequence
      .replace(/, expect: \{[^}]*\}/g, "")
      .replace(/^ *expect: \{[^}]*\}\n/gm, ""),
  };
}

describe("a sequence without classes", () => {
  it.each(SHIPPED)("of %s is filled in with what was written by hand, and says so", (name) => {
    const written = planOf(shippedTexts(name));
    const filled = planOf(blank(shippedTexts(name)));
    expect(filled.steps).toHaveLength(written.steps.length);
    for (const [index, step] of filled.steps.entries()) {
      const by = written.steps[index];
      expect(step.modelled).toBe(true);
      expect(step.expect).toMatchObject(by?.expect ?? { missing: true });
      if (step.kind === "hold" && by?.kind === "hold") {
        expect(step.flip.modelled).toBe(true);
        expect(step.flip.expect).toMatchObject(by.flip.expect);
      }
    }
    expect(filled.soak?.cycle.map((one) => one.modelled)).toEqual(
      written.soak?.cycle.map(() => true),
    );
    const count = filled.steps.length + (filled.soak?.cycle.length ?? 0);
    expect(filled.claims).toContain(
      `expected by the model: the classes of ${count} steps were filled in from the stages of the board file, before the run`,
    );
    expect(written.claims.filter((one) => one.startsWith("expected by the model"))).toEqual([]);
    expect(planSchema.parse(JSON.parse(JSON.stringify(filled)))).toEqual(filled);
  });

  it("names in a hold only nets that stand still while other lines move", () => {
    const { steps } = planOf(blank(shippedTexts("sector-latch")));
    const hold = steps.find(({ kind }) => kind === "hold");
    expect(hold?.expect).toEqual({ NG: "high", S: "low", R: "low", QN: "low", Q: "high" });
  });
});

describe("a step whose classes are left out", () => {
  it("is refused where the model knows no net of it, with the reason", () => {
    const texts = latchWith(`  - { step: both, set: { SET: high, RESET: high }, settleMs: 100 }
  - { step: let go, set: { SET: low, RESET: low }, settleMs: 100 }`);
    expect(problemsOf(texts)).toEqual([
      'sequence.yaml:13:5: { step: let go, set: { SET: low, RESET: low }, settleMs: 100...: the model knows none of the nets the rig reads here; Q: QN and Q may end either way when SET goes low and RESET goes low at step "let go"; write `expect:` by hand, or drive the lines so that it is known',
    ]);
  });

  it("is left as it is where a hand wrote what the model would not say", () => {
    const sequence = spoil(
      PROOF_TEXTS.sequence,
      "{ step: reset, set: { SET: low, RESET: high }, settleMs: 100, expect: { Q: low, QN: high } }",
      "{ step: reset, set: { SET: low, RESET: high }, settleMs: 100, expect: { Q: high } }",
    );
    const [reset, release] = planOf({
      ...PROOF_TEXTS,
      sequence: spoil(
        sequence,
        "set: { RESET: low }, settleMs: 100, expect: { Q: low, QN: high } }",
        "set: { RESET: low }, settleMs: 100 }",
      ),
    }).steps;
    expect(reset).toMatchObject({ expect: { Q: "high" } });
    expect(reset?.modelled).toBeUndefined();
    expect(release).toMatchObject({ expect: { QN: "high", Q: "low" }, modelled: true });
  });
});

describe("a step that says nothing changes", () => {
  const steps = (second: string) =>
    latchWith(`
  - { step: reset, set: { SET: low, RESET: high }, settleMs: 100, expect: { Q: low } }
  - { step: release, set: { RESET: low }, settleMs: 100, ${second} }`);

  it("takes the classes of the step before, as somebody wrote them", () => {
    const [, release] = planOf(steps("unchanged: true")).steps;
    expect(release?.expect).toEqual({ Q: "low" });
    expect(release?.modelled).toBeUndefined();
  });

  it("takes them as the model's where the step before had the model's", () => {
    const texts = steps("unchanged: true");
    const sequence = spoil(texts.sequence, ", expect: { Q: low } }", " }");
    expect(planOf({ ...texts, sequence }).steps[1]).toMatchObject({ modelled: true });
  });

  it("may not name classes as well", () => {
    expect(() => planOf(steps("unchanged: true, expect: { Q: low }"))).toThrow("not both");
  });

  it("is refused as the first", () => {
    const texts = latchWith(
      "  - { step: reset, set: { SET: low }, settleMs: 100, unchanged: true }",
    );
    expect(problemsOf(texts)).toEqual([
      "sequence.yaml:12:54: unchanged: there is no step before this one; write `expect:`, or leave both out for the model to fill in",
    ]);
  });
});
