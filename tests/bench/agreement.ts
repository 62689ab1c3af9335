/**
 * What the ternary model says is known, against boards in time: on 2000 random boards no value it calls known,
 * and no net it calls still, is ever seen otherwise, whatever the delays. Small boards are followed through
 * every order, all boards through drawn delays, pure and inertial, from every or from drawn power-up states.
 */
import { type Circuit, compileCircuit } from "../../src/logic/netlist/circuit.ts";
import { settle, traceSettling } from "../../src/logic/ternary/settle.ts";
import { allUnknown, HIGH, LOW, UNKNOWN } from "../../src/logic/ternary/values.ts";
import {
  DelayedBoard,
  GATE_DELAY_MAX,
  levelOf,
  SKEW_MAX,
  WIRE_DELAY_MAX,
} from "./agreement/delays.ts";
import { everyOrder, type State, stateOf } from "./agreement/every-order.ts";
import { type Board, randomBoard, xorshift } from "./agreement/random-board.ts";
import type { FigureContext } from "./figure.ts";

const BOARDS = 2000;
const DRAWN_RUNS = { quick: 8, full: 60 };
/** Boards on which the planted mistake has to show. */
const PLANTED_BOARDS = 200;
const STAGES_IN_EVERY_ORDER_MAX = 6;

/** What a model says of one step, by net in the order inputs, gates. */
interface Claim {
  readonly during: Uint8Array;
  readonly after: Uint8Array;
  /** Rounds of all gates after which the known values are there. */
  readonly rounds: number;
}
type Model = (circuit: Circuit, board: Board) => Claim[];

/** The model under test. */
const ternary: Model = (circuit, { vectors }) => {
  let values = allUnknown(circuit);
  return vectors.map((vector) => {
    const inputs = vector.map((level) => (level ? HIGH : LOW));
    const { during, after, stepsOfB } = traceSettling(circuit, values, inputs);
    values = after;
    return { during, after, rounds: stepsOfB.length };
  });
};

/** The planted mistake: procedure B alone, from the old state, all gates at once; what then comes to rest is claimed. */
const withoutA: Model = (circuit, { netlist, vectors }) => {
  let values = allUnknown(circuit);
  return vectors.map((vector, step) => {
    const inputs = vector.map((level) => (level ? HIGH : LOW));
    if (step === 0) values = settle(circuit, values, inputs).after;
    const next = Uint8Array.from(values);
    next.set(inputs);
    for (let round = 0; round < netlist.gates.length; round++) {
      const old = Uint8Array.from(next);
      for (const [index, { type, inputs: pins }] of netlist.gates.entries()) {
        const levels = pins.map((net) => old[circuit.netOf.get(net) ?? -1] ?? UNKNOWN);
        if (levels.includes(UNKNOWN)) continue;
        const high = levelOf(
          type,
          levels.map((level) => level === HIGH),
        );
        next[inputs.length + index] = high ? HIGH : LOW;
      }
    }
    for (const [index, { type, inputs: pins }] of netlist.gates.entries()) {
      const levels = pins.map((net) => next[circuit.netOf.get(net) ?? -1] === HIGH);
      const rests = isLevel(next[inputs.length + index], levelOf(type, levels));
      if (!rests) next[inputs.length + index] = UNKNOWN;
    }
    values = next;
    const during = new Uint8Array(next.length).fill(UNKNOWN);
    return { during, after: next, rounds: netlist.gates.length };
  });
};

class Tally {
  known = 0;
  unknown = 0;
  still = 0;
  contradictions = 0;
  inEveryOrder = 0;
  drawnRuns = 0;
  /** Runs in which more happened than could be followed to the last step. */
  leftEarly = 0;
  readonly #say: ((text: string) => void) | null;

  constructor(say: ((text: string) => void) | null) {
    this.#say = say;
  }

  contradict(board: Board, step: number, what: string): void {
    this.contradictions += 1;
    if (this.contradictions <= 5) this.#say?.(`${board.netlist.name}, step ${step}: ${what}`);
  }
}

const isLevel = (value: number | undefined, level: boolean) => value === (level ? HIGH : LOW);

/** One run with drawn delays, from a drawn power-up state. */
function runInTime(board: Board, claims: readonly Claim[], tally: Tally, seed: number): void {
  const { netlist, vectors } = board;
  const chance = xorshift(seed);
  const levels = [...netlist.inputs, ...netlist.gates].map(() => chance() < 0.5);
  const inTime = new DelayedBoard(netlist, { chance, inertial: seed % 2 === 0, levels });
  tally.drawnRuns += 1;
  for (const [step, vector] of vectors.entries()) {
    const claim = claims[step] as Claim;
    const skews = vector.map(() => (chance() < 0.3 ? 0 : chance() * SKEW_MAX));
    const duration = SKEW_MAX + (claim.rounds + 1) * (GATE_DELAY_MAX + WIRE_DELAY_MAX);
    if (!inTime.step(vector, skews, duration)) {
      tally.leftEarly += 1;
      return;
    }
    for (const [place, name] of inTime.names.entries()) {
      if (place < vector.length) continue;
      const after = claim.after[place];
      const is = inTime.levels[place] ?? false;
      if (after !== UNKNOWN && !isLevel(after, is))
        tally.contradict(board, step, `${name} is said to be ${is ? "low" : "high"} and is not`);
      if (claim.during[place] !== UNKNOWN && inTime.moved.has(place))
        tally.contradict(board, step, `${name} is said to be still and moves`);
    }
  }
}

/** Every order of everything, from every power-up state; false when it is too much. */
function runEveryOrder(board: Board, claims: readonly Claim[], tally: Tally): boolean {
  const { netlist, vectors } = board;
  const nets = netlist.inputs.length + netlist.gates.length;
  if (netlist.gates.length > STAGES_IN_EVERY_ORDER_MAX) return false;
  let states = new Set<State>();
  for (let word = 0; word < 2 ** netlist.gates.length; word++) {
    const levels = Array.from({ length: nets }, (_, place) =>
      place < netlist.inputs.length
        ? vectors[0]?.[place] === true
        : (word & (1 << (place - netlist.inputs.length))) !== 0,
    );
    states.add(stateOf(netlist, levels));
  }
  for (const [step, vector] of vectors.entries()) {
    const claim = claims[step] as Claim;
    const found = everyOrder(netlist, states, vector);
    if (found === null) return false;
    for (let place = netlist.inputs.length; place < nets; place++) {
      const name = netlist.gates[place - netlist.inputs.length]?.name;
      const refutes = (value: number | undefined, all: ReadonlySet<State>) =>
        value !== UNKNOWN &&
        [...all].some((state) => !isLevel(value, (state & (1 << place)) !== 0));
      if (refutes(claim.after[place], found.late))
        tally.contradict(board, step, `${name} can end otherwise in some order`);
      if (refutes(claim.during[place], found.onTheWay))
        tally.contradict(board, step, `${name} can move in some order`);
    }
    states = new Set(found.late);
  }
  tally.inEveryOrder += 1;
  return true;
}

function compare(model: Model, boards: number, runs: number, tally: Tally): void {
  for (let seed = 1; seed <= boards; seed++) {
    const board = randomBoard(seed);
    const claims = model(compileCircuit(board.netlist), board);
    for (const { during, after } of claims) {
      for (let place = board.netlist.inputs.length; place < after.length; place++) {
        if (after[place] === UNKNOWN) tally.unknown += 1;
        else tally.known += 1;
        if (during[place] !== UNKNOWN) tally.still += 1;
      }
    }
    runEveryOrder(board, claims, tally);
    for (let run = 0; run < runs; run++) runInTime(board, claims, tally, seed * 1000 + run);
  }
}

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const tally = new Tally(say);
  compare(ternary, BOARDS, full ? DRAWN_RUNS.full : DRAWN_RUNS.quick, tally);
  say(`${tally.still} times a net was called still through a step, and was`);
  report({
    name: "agreement contradictions",
    value: tally.contradictions,
    unit: `of ${BOARDS} boards of 2 to 60 stages, ${tally.drawnRuns} runs in time, ${tally.leftEarly} of them left before the last step`,
    limit: "= 0",
    holds: tally.contradictions === 0,
  });
  report({
    name: "agreement known values",
    value: tally.known,
    unit: `nets at steps called known, ${tally.unknown} called unknown`,
    limit: "> 100000, else nothing was compared",
    holds: tally.known > 100_000,
  });
  report({
    name: "agreement in every order",
    value: tally.inEveryOrder,
    unit: `boards of up to ${STAGES_IN_EVERY_ORDER_MAX} stages followed through every order`,
    limit: "> 200",
    holds: tally.inEveryOrder > 200,
  });
  const planted = new Tally(null);
  compare(withoutA, PLANTED_BOARDS, DRAWN_RUNS.quick, planted);
  report({
    name: "agreement planted mistake",
    value: planted.contradictions,
    unit: `contradictions of a model without procedure A on ${PLANTED_BOARDS} boards`,
    limit: "> 0, else this would see nothing",
    holds: planted.contradictions > 0,
  });
}
