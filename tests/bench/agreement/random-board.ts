/** Boards that nobody drew: latches, gates after gates and a few wires back, and vectors to step them by. */
import type { Gate, GateType, Netlist } from "../../../src/logic/netlist/netlist.ts";

/** Numbers from 0 up to 1. @source G. Marsaglia, Xorshift RNGs, J. Statistical Software 8(14), 2003 (from memory) */
export function xorshift(seed: number): () => number {
  let state = Math.imul(seed + 1, 0x9e3779b1) | 1;
  const next = () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) / 2 ** 32;
  };
  for (let warm = 0; warm < 8; warm++) next();
  return next;
}

const below = (chance: () => number, count: number) => Math.floor(chance() * count);

const TYPES: readonly GateType[] = [
  "nor",
  "nor",
  "nand",
  "nand",
  "not",
  "and",
  "or",
  "buf",
  "xor",
  "xnor",
];
const STAGES_MIN = 2;
const STAGES_MAX = 60;

export interface Board {
  readonly netlist: Netlist;
  /** Levels of the inputs, step by step. */
  readonly vectors: readonly (readonly boolean[])[];
}

/** Small boards are as likely as large ones: stages are drawn evenly by their logarithm. */
export function randomBoard(seed: number): Board {
  const chance = xorshift(seed);
  const span = Math.log((STAGES_MAX + 1) / STAGES_MIN);
  const stages = Math.min(STAGES_MAX, Math.floor(STAGES_MIN * Math.exp(chance() * span)));
  const inputs = Array.from({ length: 2 + below(chance, 4) }, (_, index) => `I${index}`);
  const nets = Array.from({ length: stages }, (_, index) => `N${index}`);
  const wiresBack = chance() < 0.5 ? 0.03 : 0.12;
  const pick = (list: readonly string[]) => list[below(chance, list.length)] ?? "I0";
  const source = (index: number) =>
    chance() < wiresBack
      ? pick(nets)
      : pick([...inputs, ...nets.slice(Math.max(0, index - 12), index)]);
  const gates: Gate[] = [];
  while (gates.length < stages) {
    const index = gates.length;
    const add = (type: GateType, pins: string[]) => {
      const name = `N${gates.length}`;
      gates.push({ name, type, inputs: pins, output: name });
    };
    if (index + 1 < stages && chance() < 0.25) {
      const type = chance() < 0.5 ? "nor" : "nand";
      add(type, [source(index), `N${index + 1}`]);
      add(type, [source(index), `N${index}`]);
      continue;
    }
    const type = TYPES[below(chance, TYPES.length)] ?? "nor";
    const pins = type === "not" || type === "buf" ? 1 : 2 + below(chance, 2);
    add(
      type,
      Array.from({ length: pins }, () => source(index)),
    );
  }
  let last = inputs.map(() => chance() < 0.5);
  const vectors = [last];
  for (let step = 0; step < 7; step++) {
    const one = below(chance, inputs.length);
    const many = chance() < 0.3;
    last = last.map((level, index) => ((many ? chance() < 0.5 : index === one) ? !level : level));
    vectors.push(last);
  }
  return {
    netlist: { name: `board ${seed}`, inputs, outputs: nets.slice(-1), gates, flipFlops: [] },
    vectors,
  };
}
