/** Sequences walked through the model: levels at every stop, and why a net is not known. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { loadBoard } from "../../../src/formats/board.schema.ts";
import { documentOf } from "../../../src/formats/load-document.ts";
import { loadSequence } from "../../../src/formats/sequence.schema.ts";
import { levelWord } from "../../../src/logic/expect/causes.ts";
import { type SequenceWalk, walkSequence } from "../../../src/logic/expect/walk.ts";
import { compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import { boardLogic, KNOWN_STAGE_TYPES } from "../../../src/logic/netlist/from-board.ts";
import { checkBoardAlone } from "../../../src/plan/check-alone.ts";
import { flattenSteps } from "../../../src/plan/flatten-steps.ts";
import { PROOF_TEXTS, spoil } from "../../plan/proof-texts.ts";
import { latchWith, modelOf, netAt, SHIPPED, shippedTexts } from "./walk-texts.ts";

/** Stops of the walk at which the other simulator printed: after a step, after each release. */
const PRINTED = new Set(["pattern", "held", "flipped"]);

interface KeptAnswers {
  readonly nets: readonly string[];
  readonly stops: readonly { readonly label: string; readonly levels: string }[];
}

function keptAnswers(name: string): KeptAnswers {
  return JSON.parse(readFileSync(`tests/references/verilog/${name}.json`, "utf8"));
}

/** Levels of these nets wherever the other simulator printed, as it printed them. */
function levelsOf({ pass, circuit }: SequenceWalk, nets: readonly string[]): string[] {
  const digit = { low: "0", high: "1", X: "x" } as const;
  const at = (levels: Uint8Array, net: string) =>
    digit[levelWord(levels[circuit.netOf.get(net) ?? -1] ?? 3)];
  return pass
    .filter(({ stop }) => PRINTED.has(stop.part))
    .map(({ levels }) => nets.map((net) => at(levels, net)).join(""));
}

describe("walkSequence", () => {
  // Levels printed by Icarus Verilog for the same boards and moves, kept in tests/references/verilog.
  it.each(SHIPPED)("finds on %s at every stop what Icarus Verilog printed there", (name) => {
    const { walk } = modelOf(shippedTexts(name));
    const kept = keptAnswers(name);
    expect(levelsOf(walk, kept.nets)).toEqual(kept.stops.map(({ levels }) => levels));
  });

  it("finds so on a board with every kind of stage the model knows, joined plates and diode gates", () => {
    const place = "tests/references/verilog/boards/watch-signals";
    const read = (file: string) => readFileSync(`${place}/${file}.yaml`, "utf8");
    const board = documentOf(loadBoard(read("board"), "board.yaml"));
    const sequence = documentOf(loadSequence(read("sequence"), "sequence.yaml")).value;
    expect(checkBoardAlone({ board })).toEqual([]);
    const logic = boardLogic(board.value);
    expect(logic.problems).toEqual([]);
    const walk = walkSequence({
      circuit: compileCircuit(logic.netlist),
      exercise: sequence.warmUp.exercise,
      steps: flattenSteps(sequence),
      cycle: [],
      powerCycles: false,
      atRest: {},
    });
    const kept = keptAnswers("watch-signals");
    expect(levelsOf(walk, kept.nets)).toEqual(kept.stops.map(({ levels }) => levels));
    const types = new Set(Object.values(board.value.stages).map(({ type }) => type));
    expect([...types].sort()).toEqual([...KNOWN_STAGE_TYPES].sort());
  });

  it("does not know a latch whose inputs are released together, and names both and the step", () => {
    const model = modelOf(
      latchWith(`
  - { step: both, set: { SET: high, RESET: high }, settleMs: 100 }
  - { step: let go, set: { SET: low, RESET: low }, settleMs: 100 }
  - { step: set, set: { SET: high }, settleMs: 100 }`),
    );
    const [both, letGo, set] = model.walk.pass;
    if (!both || !letGo || !set) throw new Error("three stops were asked for");
    expect([netAt(model, both, "Q"), netAt(model, both, "QN")]).toEqual(["low", "low"]);
    const why =
      'X: QN and Q may end either way when SET goes low and RESET goes low at step "let go"';
    expect(netAt(model, letGo, "Q")).toBe(why);
    expect([netAt(model, set, "Q"), netAt(model, set, "QN")]).toEqual(["high", "low"]);
  });

  it("keeps naming the step of a race as long as nothing undoes it", () => {
    const model = modelOf(
      latchWith(`
  - { step: both, set: { SET: high, RESET: high }, settleMs: 100 }
  - { step: let go, set: { SET: low, RESET: low }, settleMs: 100 }
  - { step: loaded, set: { LAMP: high }, settleMs: 100 }`),
    );
    const last = model.walk.pass.at(-1);
    if (!last) throw new Error("no stop");
    expect(netAt(model, last, "QN")).toContain('at step "let go"');
  });

  it("does not know what nothing has set since power-up", () => {
    const model = modelOf(
      latchWith(
        "  - { step: idle, set: {}, settleMs: 100 }",
        "    - { set: { LAMP: high }, settleMs: 100, pullsLow: [Q, QN] }",
      ),
    );
    const [idle] = model.walk.pass;
    if (!idle) throw new Error("no stop");
    expect(netAt(model, idle, "Q")).toBe(
      "X: nothing has brought QN and Q to a known level since power-up",
    );
  });

  it("does not know what depends on the warm-up pattern that came last", () => {
    const model = modelOf(
      latchWith("  - { step: off, set: { SET: low, RESET: low }, settleMs: 100 }"),
    );
    const [off] = model.walk.pass;
    if (!off) throw new Error("no stop");
    expect(netAt(model, off, "Q")).toContain("which warm-up pattern was last");
  });

  it("follows a net past a stage it does not know, and says which it hangs on", () => {
    const board = PROOF_TEXTS.board.replace(
      "loads:",
      "  C: { type: follower, tube: ECC82, position: V2, section: a, inputs: [Q], output: F }\n  D: { type: nor, tube: ECC82, position: V2, section: b, inputs: [F, SET], output: G }\nloads:",
    );
    const steps = latchWith(`
  - { step: reset, set: { SET: low, RESET: high }, settleMs: 100 }
  - { step: set, set: { SET: high, RESET: low }, settleMs: 100 }`);
    const model = modelOf({ ...steps, board });
    const [reset, set] = model.walk.pass;
    if (!reset || !set) throw new Error("two stops were asked for");
    expect(netAt(model, reset, "G")).toBe("X: it hangs on F, which the model does not know");
    expect([netAt(model, set, "G"), netAt(model, set, "Q")]).toEqual(["low", "high"]);
  });

  it("moves the lines of a hold to and fro from where they stood, and back", () => {
    const { walk } = modelOf(shippedTexts("sector-latch"));
    const hold = walk.pass.filter(({ stop }) => stop.label.startsWith('hold "lit sector"'));
    const moved = hold.map(({ stop }) => `${stop.part} ${Object.entries(stop.set).join(" ")}`);
    expect(moved.slice(0, 8)).toEqual([
      "entered D,high G,high",
      "held G,low",
      "moved D,low",
      "moved LAMP,high",
      "moved ALARM,high",
      "moved D,high",
      "moved LAMP,low",
      "moved ALARM,low",
    ]);
    expect(moved.slice(8, 10)).toEqual(["flipping D,low G,high", "flipped G,low"]);
  });

  it("finds a cycle's levels in every round, and does not know what differs from round to round", () => {
    const divider = shippedTexts("fog-divider");
    const from = divider.sequence.indexOf("  cycle:");
    const cycle = `  cycle:
    - { step: up, set: { CLK: high }, settleMs: 100 }
    - { step: down, set: { CLK: low }, settleMs: 100 }
`;
    const model = modelOf({ ...divider, sequence: divider.sequence.slice(0, from) + cycle });
    const [up] = model.walk.cycle;
    if (!up) throw new Error("no stop");
    expect(netAt(model, up, "CLKN")).toBe("low");
    expect(netAt(model, up, "Q")).toContain("which round it is");
    const whole = modelOf(divider);
    expect(whole.walk.cycle.map((one) => netAt(whole, one, "Q"))).toEqual([
      "low",
      "low",
      "high",
      "high",
      "low",
      "low",
    ]);
  });

  it("races where the master is not slow: both latches of the divider are open at once", () => {
    const divider = shippedTexts("fog-divider");
    const model = modelOf({ ...divider, board: divider.board.replaceAll(", slow: true", "") });
    const up = model.walk.pass.find(({ stop }) => stop.label === 'step "clock up to 1 (1 of 4)"');
    if (!up) throw new Error("no such step");
    expect(netAt(model, up, "Q")).toContain(
      'may end either way when CLK goes low at step "clock down at 0"',
    );
  });

  it("joins a shared plate", () => {
    const board = spoil(
      PROOF_TEXTS.board,
      "output: QN }",
      "output: QN }\n  C: { type: not, tube: ECC82, position: V2, section: a, inputs: [LAMPTEST], output: QN, sharesPlate: true }",
    ).replace(`"9": LAMP`, `"9": LAMP, "10": LAMPTEST`);
    const rig = spoil(
      PROOF_TEXTS.rig,
      "  - { output: 6,",
      `  - output: 7
    line: LAMPTEST
    drive: changeover
    released: { level: low, sourceV: 0, sourceOhm: 1000 }
    operated: { level: high, from: plate, sourceV: 44, sourceOhm: 10000 }
  - { output: 6,`,
    );
    const steps = latchWith(`
  - { step: reset, set: { SET: low, RESET: high, LAMPTEST: low }, settleMs: 100 }
  - { step: pulled, set: { LAMPTEST: high }, settleMs: 100 }`);
    const model = modelOf({ board, rig, sequence: steps.sequence });
    expect(model.walk.pass.map((one) => netAt(model, one, "QN"))).toEqual(["high", "low"]);
  });
});
