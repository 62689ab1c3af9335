/**
 * Further steps for faults of parts that stuck lines do not stand for: a shorted diode or a bridge makes nets
 * pull on each other, a dark tube stops several stages at once.
 */
import type { LogicalEffect, PartFault } from "../../faults/parts/part-fault.ts";
import { type LaneState, Lanes } from "../../lanes/lanes.ts";
import { compileCircuit } from "../../netlist/circuit.ts";
import { movesFrom } from "../moves.ts";
import { type LineValues, WalkMachine, type WalkSubject } from "../walk-machine.ts";

export interface PartSteps {
  /** To be taken after the walk they were made for. */
  readonly added: readonly LineValues[];
  /** Faults of parts that the model follows. */
  readonly modelled: number;
  /** Surely shown. */
  readonly shown: number;
  /** Faults that some step shows or not, as the parts of the board will have it; no step surely. */
  readonly chanced: readonly PartFault[];
  /** Faults that no step shows. */
  readonly missed: readonly PartFault[];
}

/** Places searched for one fault. */
const PLACES_MOST = 3000;

/** @param vectors the walk so far, from power-up */
export function partSteps(
  subject: WalkSubject,
  vectors: readonly LineValues[],
  parts: readonly PartFault[],
  { stepsMost, next }: { stepsMost: number; next: () => number },
): PartSteps {
  const pairs = parts.flatMap((part) =>
    pairsOf(subject, part.effect).map((pair): PartPair => ({ part, pair, best: NEVER })),
  );
  const added: LineValues[] = [];
  let open = [...pairs];
  const take = (steps: readonly LineValues[]) => {
    for (const one of open)
      for (const lines of steps) one.best = Math.max(one.best, one.pair.take(lines).shows) as Shows;
  };
  take(vectors);
  // First what can be shown surely, then of the rest what may show.
  for (const wanted of [SURELY, MAYBE] as const) {
    open = pairs.filter(({ best }) => best < wanted);
    for (const one of [...open]) {
      if (one.best >= wanted) continue;
      const here = [...vectors, ...added];
      const steps = wayToShow(subject, one, { here, wanted, next });
      if (steps === null || here.length + steps.length > stepsMost) continue;
      added.push(...steps);
      take(steps);
    }
    for (const { pair } of pairs) pair.replay([...vectors, ...added]);
  }
  const modelled = parts.filter((part) => pairs.some((one) => one.part === part));
  const all = (part: PartFault) => pairs.flatMap((one) => (one.part === part ? [one.best] : []));
  const surely = modelled.filter((part) => all(part).every((best) => best === SURELY));
  const missed = modelled.filter((part) => all(part).every((best) => best === NEVER));
  const chanced = modelled.filter((part) => !surely.includes(part) && !missed.includes(part));
  return { added, modelled: modelled.length, shown: surely.length, chanced, missed };
}

/** How a step shows a fault: not, perhaps, or surely. */
const NEVER = 0;
const MAYBE = 1;
const SURELY = 2;
type Shows = typeof NEVER | typeof MAYBE | typeof SURELY;

interface PartPair {
  readonly part: PartFault;
  readonly pair: Pair;
  /** Best of the steps so far. */
  best: Shows;
}

/** The faultless board and a copy with one effect, taken through the same steps. */
class Pair {
  readonly #good: WalkMachine;
  readonly #bad: Lanes;
  readonly #lane: number;
  readonly #nets: readonly (readonly [good: number, bad: number])[];

  /** Values of the copy's inputs that are no lines of the board. */
  readonly #beside: readonly number[];

  constructor(subject: WalkSubject, bad: Lanes, lane: number, beside: readonly number[] = []) {
    this.#beside = beside;
    this.#good = new WalkMachine(subject, []);
    this.#bad = bad;
    this.#lane = lane;
    this.#nets = subject.observed.map((net) => [
      net,
      bad.circuit.netOf.get(subject.circuit.nets[net] ?? "") ?? -1,
    ]);
  }

  take(lines: LineValues): { readonly determined: boolean; readonly shows: Shows } {
    const { determined } = this.#good.take(lines);
    if (!determined) return { determined, shows: NEVER };
    this.#bad.step([...lines, ...this.#beside]);
    let shows: Shows = NEVER;
    for (const [goodNet, badNet] of this.#nets) {
      const good = this.#good.lanes.value(goodNet);
      const bad = badNet < 0 ? 3 : this.#bad.value(badNet, this.#lane);
      if (good === 3 || good === bad) continue;
      if (bad !== 3) return { determined, shows: SURELY };
      shows = MAYBE;
    }
    return { determined, shows };
  }

  /** Be where these steps lead from power-up. */
  replay(vectors: readonly LineValues[]): void {
    this.#good.lanes.powerUp();
    this.#bad.powerUp();
    for (const lines of vectors) this.take(lines);
  }

  save(): PairState {
    return { good: this.#good.lanes.save(), bad: this.#bad.save() };
  }

  restore({ good, bad }: PairState): void {
    this.#good.lanes.restore(good);
    this.#bad.restore(bad);
  }
}

interface PairState {
  readonly good: LaneState;
  readonly bad: LaneState;
}

/**
 * None for what logic cannot follow. Where it is not known which of two tied nets wins, a copy for either:
 * it is one and the same at every step, so a fault is shown when each of its copies is.
 */
function pairsOf(subject: WalkSubject, effect: LogicalEffect): Pair[] {
  if (effect.kind === "not modelled") return [];
  if (effect.kind === "stuck")
    return [new Pair(subject, new Lanes(subject.circuit, [effect.faults]), 1)];
  const circuit = compileCircuit(effect.netlist);
  const floating = subject.circuit.inputs.length - subject.lineCount;
  const besides = (effect.unknownNets.length > 0 ? [1, 2] : [3]).map((wins) => [
    ...Array.from({ length: floating }, () => 3),
    ...effect.unknownNets.map(() => wins),
  ]);
  return besides.map((beside) => new Pair(subject, new Lanes(circuit, []), 0, beside));
}

interface Node {
  readonly state: PairState;
  readonly lines: LineValues | null;
  readonly before: Node | null;
}

/** Steps from where a walk ends to the nearest at which the copy shows as wanted; the pair is left where it was. */
function wayToShow(
  { lineCount }: WalkSubject,
  { pair }: PartPair,
  { here, wanted, next }: { here: readonly LineValues[]; wanted: Shows; next: () => number },
): LineValues[] | null {
  const start = pair.save();
  const queue: Node[] = [{ state: start, lines: here.at(-1) ?? null, before: null }];
  const way = searched();
  pair.restore(start);
  return way;

  function searched(): LineValues[] | null {
    const visited = new Set<string>();
    for (const node of queue) {
      for (const lines of movesFrom(node.lines, { lineCount, stay: false, next })) {
        pair.restore(node.state);
        const { determined, shows } = pair.take(lines);
        if (!determined) continue;
        const there: Node = { state: pair.save(), lines, before: node };
        if (shows >= wanted) return vectorsTo(there);
        const key = keyOf(there.state);
        if (visited.has(key)) continue;
        if (visited.size >= PLACES_MOST) return null;
        visited.add(key);
        queue.push(there);
      }
    }
    return null;
  }
}

function vectorsTo(node: Node): LineValues[] {
  const vectors: LineValues[] = [];
  for (let at: Node = node; at.lines && at.before; at = at.before) vectors.unshift(at.lines);
  return vectors;
}

function keyOf({ good, bad }: PairState): string {
  return [good.low, good.high, bad.low, bad.high].map((words) => words.join("")).join("|");
}
