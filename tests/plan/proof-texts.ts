/** A small proof that resolves, as text, so that a test can spoil one thing and see what is said. */
import { loadBoard } from "../../src/formats/board.schema.ts";
import { documentOf } from "../../src/formats/load-document.ts";
import { loadRig } from "../../src/formats/rig.schema.ts";
import { loadSequence } from "../../src/formats/sequence.schema.ts";
import { type PlanResult, resolvePlan } from "../../src/plan/resolve-plan.ts";

export const BOARD_TEXT = `format: holdfast-board
version: 1
board: test-latch
revision: A
title: Set-reset latch of two nor stages
rails:
  heater: { nominalV: 12.6, windowV: [11.9, 13.2], ceilingV: 14, safeV: 2, riseMs: 500, fallMs: 1500 }
  bias: { nominalV: -24, windowV: [-26.4, -21.6], ceilingV: -30, safeV: 2, riseMs: 500, fallMs: 8000 }
  plate: { nominalV: 48, windowV: [45.6, 50.4], ceilingV: 55, safeV: 10, riseMs: 500, fallMs: 1500 }
ceilings: { betweenRailsV: 85, heaterToCathodeV: 90 }
contract: { volV: 14, vilV: 18, vihV: 32, vohV: 36 }
slowestTimeConstantMs: 20
heaterBeforePlateMs: 3000
stages:
  A: { type: nor, tube: ECC82, position: V1, section: a, inputs: [SET, Q], output: QN }
  B: { type: nor, tube: ECC82, position: V1, section: b, inputs: [RESET, QN], output: Q }
loads: { LAMP: { net: Q, description: lamp driver input } }
connector: { "1": plate, "2": bias, "3": common, "4": heater, "5": SET, "6": RESET, "7": Q, "8": QN, "9": LAMP }
`;

export const RIG_TEXT = `format: holdfast-rig
version: 1
rig: test-bench
board: test-latch
bench: { kind: emulated, circuit: circuit.yaml }
referenceV: 5
contactDcV: 80
samples: 16
outputs:
  - { output: 1, rail: heater, drive: relay, sourceV: 12.6, sourceOhm: 0.5 }
  - { output: 2, rail: bias, drive: relay, sourceV: -24, sourceOhm: 10 }
  - { output: 3, rail: plate, drive: relay, sourceV: 48, sourceOhm: 10 }
  - output: 4
    line: SET
    drive: changeover
    released: { level: low, sourceV: 0, sourceOhm: 1000 }
    operated: { level: high, from: plate, sourceV: 44, sourceOhm: 10000 }
  - output: 5
    line: RESET
    drive: changeover
    released: { level: low, sourceV: 0, sourceOhm: 1000 }
    operated: { level: high, from: plate, sourceV: 44, sourceOhm: 10000 }
  - { output: 6, line: LAMP, drive: load, loadOhm: 330000, to: common, net: Q }
channels:
  - { channel: 1, rail: heater, at: source, topOhm: 47000, bottomOhm: 10000, capacitorNf: 10 }
  - { channel: 2, rail: heater, at: board, topOhm: 47000, bottomOhm: 10000, capacitorNf: 10 }
  - { channel: 3, rail: bias, at: source, topOhm: 220000, bottomOhm: 33000, pullUpOhm: 22000, capacitorNf: 10 }
  - { channel: 4, rail: bias, at: board, topOhm: 220000, bottomOhm: 33000, pullUpOhm: 22000, capacitorNf: 10 }
  - { channel: 5, rail: plate, at: source, topOhm: 120000, bottomOhm: 10000, capacitorNf: 10 }
  - { channel: 6, rail: plate, at: board, topOhm: 120000, bottomOhm: 10000, capacitorNf: 10 }
  - { channel: 7, net: Q, topOhm: 1000000, bottomOhm: 100000, capacitorNf: 33 }
  - { channel: 8, net: QN, topOhm: 1000000, bottomOhm: 100000, capacitorNf: 33 }
  - { channel: 9, line: SET, topOhm: 1000000, bottomOhm: 100000, capacitorNf: 33 }
  - { channel: 15, line: RESET, topOhm: 1000000, bottomOhm: 100000, capacitorNf: 33 }
`;

export const SEQUENCE_TEXT = `format: holdfast-sequence
version: 1
sequence: test-proof
board: test-latch
warmUp:
  timeoutMs: 60000
  steady: { bandV: 0.3, forMs: 3000 }
  exercise:
    - { set: { SET: high, RESET: low }, settleMs: 100, pullsLow: [QN] }
    - { set: { SET: low, RESET: high }, settleMs: 100, pullsLow: [Q] }
steps:
  - { step: reset, set: { SET: low, RESET: high }, settleMs: 100, expect: { Q: low, QN: high } }
  - { step: release, set: { RESET: low }, settleMs: 100, expect: { Q: low, QN: high } }
  - note: now the state must stay by itself
  - hold: Q set
    enter: { SET: high }
    release: { SET: low }
    inactive: { SET: low, RESET: low }
    expect: { Q: high, QN: low }
    move: [LAMP]
    moveEveryMs: 500
    readEveryMs: 250
    settleMs: 100
    forMs: 120000
    flip: { enter: { RESET: high }, release: { RESET: low }, expect: { Q: low, QN: high }, forMs: 5000 }
  - repeat: 10
    steps:
      - { step: set, set: { SET: high }, settleMs: 100, expect: { Q: high, QN: low } }
      - { step: unset, set: { SET: low }, settleMs: 100, expect: { Q: high, QN: low } }
`;

export interface ProofTexts {
  readonly board: string;
  readonly rig: string;
  readonly sequence: string;
}

export const PROOF_TEXTS: ProofTexts = {
  board: BOARD_TEXT,
  rig: RIG_TEXT,
  sequence: SEQUENCE_TEXT,
};

/** The text with one part exchanged; the part must stand in it exactly once. */
export function spoil(text: string, from: string, to: string): string {
  const parts = text.split(from);
  if (parts.length !== 2) {
    throw new Error(`${JSON.stringify(from)} stands ${parts.length - 1} times, expected once`);
  }
  return parts.join(to);
}

/** Resolve texts named board.yaml, rig.yaml and sequence.yaml. */
export function resolveTexts(texts: ProofTexts): PlanResult {
  return resolvePlan({
    board: documentOf(loadBoard(texts.board, "board.yaml")),
    rig: documentOf(loadRig(texts.rig, "rig.yaml")),
    sequence: documentOf(loadSequence(texts.sequence, "sequence.yaml")),
    sources: [],
  });
}
