/** What a sequence is told before it is run: each rule once where it speaks and once where it is silent. */
import { describe, expect, it } from "vitest";
import { planSchema } from "../../src/journal/plan.schema.ts";
import { filledSteps, modelProof } from "../../src/plan/fill-expected.ts";
import { findingLine, lintProof } from "../../src/plan/lint-proof.ts";
import { documentsOf, latchWith, SHIPPED, shippedTexts } from "../logic/expect/walk-texts.ts";
import { PROOF_TEXTS, type ProofTexts, resolveTexts, spoil } from "./proof-texts.ts";

function findings(texts: ProofTexts): string[] {
  const documents = documentsOf(texts);
  const steps = filledSteps(documents);
  return lintProof(documents, modelProof(documents, steps), steps).map(findingLine);
}

/** Findings of one rule. */
function of(rule: string, texts: ProofTexts): string[] {
  return findings(texts).filter((line) => line.includes(`: ${rule}: `));
}

const HOLD = PROOF_TEXTS.sequence.slice(
  PROOF_TEXTS.sequence.indexOf("  - hold:"),
  PROOF_TEXTS.sequence.indexOf("  - repeat:"),
);
const RESET =
  "  - { step: reset, set: { SET: low, RESET: high }, settleMs: 100, expect: { Q: low } }";

const RELEASE = "  - { step: release, set: { RESET: low }, settleMs: 100, expect: { Q: low } }";

describe("lintProof", () => {
  it.each(SHIPPED)("finds nothing on %s", (name) => {
    expect(findings(shippedTexts(name))).toEqual([]);
  });

  it("says where a class written by hand is not the model's, with both and the stages", () => {
    const texts = latchWith(`${RESET}
  - { step: set, set: { SET: high, RESET: low }, settleMs: 100, expect: { Q: low } }
${HOLD}`);
    expect(findings(texts)).toEqual([
      "sequence.yaml:13:78: model disagrees: Q is expected low, and the model says high: Q is B: nor of RESET low, QN low; QN is A: nor of SET high, Q high; mend the class, the step or the stages; nothing is changed for you",
    ]);
    const right = spoil(
      texts.sequence,
      "RESET: low }, settleMs: 100, expect: { Q: low }",
      "RESET: low }, settleMs: 100, expect: { Q: high }",
    );
    expect(findings({ ...texts, sequence: right })).toEqual([]);
  });

  it("says which inputs must not be released together", () => {
    const both = (release: string) =>
      latchWith(`${RESET}
  - { step: both, set: { SET: high }, settleMs: 100, expect: { Q: low } }
${release}
${HOLD}`);
    const together = both(
      "  - { step: let go, set: { SET: low, RESET: low }, settleMs: 100, expect: { SET: low } }",
    );
    expect(findings(together)).toEqual([
      'sequence.yaml:14:5: released together: step "let go": QN and Q may end either way when SET goes low and RESET goes low at step "let go"; move SET and RESET in steps of their own, in the order you mean; contacts never move at once',
    ]);
    const apart = both(`  - { step: let go, set: { SET: low }, settleMs: 100, expect: { Q: low } }
  - { step: let go too, set: { RESET: low }, settleMs: 100, expect: { Q: low } }`);
    expect(findings(apart)).toEqual([]);
  });

  it("says where stages that feed back turn over and over", () => {
    const board = spoil(
      PROOF_TEXTS.board,
      "loads:",
      "  C: { type: nor, tube: ECC82, position: V2, section: a, inputs: [RESET, K], output: K }\nloads:",
    );
    const texts = latchWith(
      `${RESET}\n${RELEASE}`,
      "    - { set: { SET: high, RESET: low }, settleMs: 100, pullsLow: [QN] }\n    - { set: { SET: low, RESET: high }, settleMs: 100, pullsLow: [Q, K] }",
    );
    expect(of("never rests", { ...texts, board })).toEqual([
      'sequence.yaml:13:5: never rests: step "release": K may go to and fro without coming to rest when RESET goes low at step "release"; look at the stages that feed back on each other: an odd number of them turns over and over',
    ]);
    expect(of("never rests", texts)).toEqual([]);
  });

  it("tells a race once, at the step that leaves it open", () => {
    const texts = latchWith(`${RESET}
  - { step: both, set: { SET: high }, settleMs: 100, expect: { Q: low } }
  - { step: let go, set: { SET: low, RESET: low }, settleMs: 100, expect: { SET: low } }
  - { step: loaded, set: { LAMP: high }, settleMs: 100, expect: { SET: low } }
${HOLD}`);
    expect(findings(texts).map((line) => line.slice(0, 38))).toEqual([
      "sequence.yaml:14:5: released together:",
    ]);
  });

  it("says where one line alone makes a race", () => {
    const divider = shippedTexts("fog-divider");
    const raced = { ...divider, board: divider.board.replaceAll(", slow: true", "") };
    expect(of("race", raced)[0]).toMatch(
      /^sequence\.yaml:\d+:5: race: step "clock down at 0": .* may end either way when CLK goes low/,
    );
    expect(of("race", divider)).toEqual([]);
  });

  it("says what is expected of a net that nothing has set", () => {
    const idle = (exercise?: string) =>
      latchWith(
        `  - { step: idle, set: {}, settleMs: 100, expect: { Q: low } }\n${RESET}\n${HOLD}`,
        exercise,
      );
    const dark = "    - { set: { LAMP: high }, settleMs: 100, pullsLow: [Q, QN] }";
    expect(of("relies on the past", idle(dark))).toEqual([
      'sequence.yaml:11:53: relies on the past: Q at step "idle": nothing has brought QN and Q to a known level since power-up; set it by a line in a step before, so that every board begins alike',
    ]);
    expect(of("relies on the past", idle())).toEqual([
      'sequence.yaml:12:53: relies on the past: Q at step "idle": it depends on what came before: which warm-up pattern was last, or which round it is; drive every line in the first step, so that it begins alike whatever was before',
    ]);
    expect(of("relies on the past", latchWith(`${RESET}\n${HOLD}`))).toEqual([]);
  });

  it("says which warm-up pattern does not pull what it claims", () => {
    const wrong = spoil(
      PROOF_TEXTS.sequence,
      "RESET: low }, settleMs: 100, pullsLow: [QN] }",
      "RESET: low }, settleMs: 100, pullsLow: [QN, Q] }",
    );
    expect(findings({ ...PROOF_TEXTS, sequence: wrong })).toEqual([
      "sequence.yaml:9:71: does not pull: warm-up pattern 1 leaves Q high: its section would never be seen to conduct; drive a line that pulls it, or take it out of pullsLow",
    ]);
    const dark = latchWith(
      `${RESET}\n${HOLD}`,
      "    - { set: { LAMP: high }, settleMs: 100, pullsLow: [Q, QN] }",
    );
    expect(of("does not pull", dark).map((line) => line.includes("does not surely pull"))).toEqual([
      true,
      true,
    ]);
    expect(findings(PROOF_TEXTS)).toEqual([]);
  });

  it("says which net two warm-up patterns pull low unlike", () => {
    const both = "    - { set: { SET: high, RESET: high }, settleMs: 100, pullsLow: [QN, Q] }\n";
    const first = "    - { set: { SET: high, RESET: low }, settleMs: 100, pullsLow: [QN] }\n";
    const second = "    - { set: { SET: low, RESET: high }, settleMs: 100, pullsLow: [Q] }";
    const unlike = latchWith(`${RESET}\n${RELEASE}\n${HOLD}`, `${first}${both}${second}`);
    expect(findings(unlike)).toEqual([
      "sequence.yaml:10:68: pulls unlike: QN is pulled low with SET high, Q low here and with SET high, Q high in warm-up pattern 1: its lows may lie further apart than steadyBandV, and then it never counts as warm; name it under one of the two alone, or drive its stage alike in both",
      "sequence.yaml:11:67: pulls unlike: Q is pulled low with RESET high, QN high here and with RESET high, QN low in warm-up pattern 2: its lows may lie further apart than steadyBandV, and then it never counts as warm; name it under one of the two alone, or drive its stage alike in both",
    ]);
    const alike = latchWith(`${RESET}\n${RELEASE}\n${HOLD}`, `${first}${first}${second}`);
    expect(findings(alike)).toEqual([]);
  });

  it("says that a state is kept and nobody holds it", () => {
    expect(findings(latchWith(RESET))).toEqual([
      "sequence.yaml:11:1: never held: QN and Q feed back on each other and keep a state, and no hold proves that it stands; add a hold that expects one of them, for longer than the board's slowest time constant",
    ]);
    expect(findings(latchWith(`${RESET}\n${RELEASE}\n${HOLD}`))).toEqual([]);
  });

  it("says which line a bouncing contact must not drive", () => {
    const divider = shippedTexts("fog-divider");
    const bare = { ...divider, board: spoil(divider.board, "steadyLines: [CLK]\n", "") };
    const [line, ...more] = of("bouncing clock", bare);
    expect(line).toMatch(
      /^rig\.yaml:\d+:11: bouncing clock: a second touch of the contact of CLK counts as a second edge: MS, MR, MN and 4 more would be otherwise after/,
    );
    expect(more).toEqual([]);
    const quick = spoil(
      divider.rig,
      "    line: CLK\n    drive: changeover",
      "    line: CLK\n    driverMs: 0.5\n    drive: changeover",
    );
    expect(of("bouncing clock", { ...bare, rig: quick })).toEqual([]);
  });

  it("says which step reads before contact, board and filter have settled one after the other", () => {
    // 15 ms of relay, 20 ms of the board and 15 ms of the filter: 50 ms.
    const hasty = (ms: number) =>
      latchWith(`${RESET.replace("settleMs: 100", `settleMs: ${ms}`)}\n${RELEASE}\n${HOLD}`);
    expect(findings(hasty(49))).toEqual([
      "sequence.yaml:12:62: read too soon: 49 ms is shorter than 50 ms: relay 15 ms + the board's slowest time constant 20 ms + filter of Q 15 ms, one after the other; wait at least 50",
    ]);
    expect(findings(hasty(50))).toEqual([]);
  });

  it("says which step moves nothing and reads nothing new", () => {
    const again = (second: string) => latchWith(`${RESET}\n${second}\n${RELEASE}\n${HOLD}`);
    expect(findings(again(RESET.replace("step: reset", "step: reset again")))).toEqual([
      'sequence.yaml:13:5: nothing new: step "reset again" moves no line and reads what step "reset" has read; take it out, or use a hold if the state is to stand for a time',
    ]);
    const more = RESET.replace("step: reset", "step: reset again").replace(
      "{ Q: low }",
      "{ QN: high }",
    );
    expect(findings(again(more))).toEqual([]);
  });

  it("says which stage it has no model of, and that what follows is partial", () => {
    const board = spoil(PROOF_TEXTS.board, "B: { type: nor", "B: { type: follower");
    const [unknown, ...more] = findings({ ...PROOF_TEXTS, board });
    expect(unknown).toMatch(
      /^board\.yaml:\d+:14: not modelled: the logic of follower is not known: its net Q is unknown to the model\. What follows of the model is partial; /,
    );
    expect(more.every((line) => line.includes(": not modelled: "))).toBe(true);
    expect(more.length).toBeGreaterThan(0);
  });
});

describe("a plan whose sequence contradicts the model", () => {
  it("keeps the class of the file and puts the model's beside it, and the record says so", () => {
    const texts = latchWith(`${RESET}
  - { step: set, set: { SET: high, RESET: low }, settleMs: 100, expect: { Q: low, QN: low } }
${HOLD}`);
    const result = resolveTexts(texts);
    if (!result.ok) throw new Error("the files do not resolve");
    const [reset, set, hold] = result.plan.steps;
    expect(set).toMatchObject({ expect: { Q: "low", QN: "low" }, modelSays: { Q: "high" } });
    expect([reset?.modelSays, hold?.modelSays]).toEqual([undefined, undefined]);
    expect(result.plan.claims).toContain(
      "the model of the stages says otherwise than the sequence file at 1 step; the board was judged by the file",
    );
    expect(planSchema.parse(JSON.parse(JSON.stringify(result.plan)))).toEqual(result.plan);
  });
});
