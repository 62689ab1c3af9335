/**
 * Boards as a rack would have them, put together by seed from dividers by two, rings of three, gated latches
 * and plain latches, up to a number of stages: for sizes no shipped board has.
 */
import type { Gate, Netlist } from "../../../src/logic/netlist/netlist.ts";
import { seededChance } from "../seeded-chance.ts";

/** Nets that further blocks may take from: as a clock, or as data. */
interface Ends {
  readonly clocks: string[];
  readonly data: string[];
}

interface Block {
  readonly stages: number;
  /** Adds the stages of block `index`. */
  readonly add: (
    gates: Gate[],
    index: number,
    from: { clock: string; data: string },
  ) => Partial<Ends>;
}

const nor = (gates: Gate[], output: string, ...inputs: string[]) =>
  gates.push({ name: output, type: "nor", inputs, output });
const slowNor = (gates: Gate[], output: string, ...inputs: string[]) =>
  gates.push({ name: output, type: "nor", inputs, output, slow: true });

/** As the fog divider: master and slave, the master's gates held back. */
const divider: Block = {
  stages: 10,
  add(gates, index, { clock }) {
    const n = (name: string) => `${name}${index}`;
    nor(gates, n("CLKN"), clock);
    slowNor(gates, n("MS"), n("Q"), clock);
    slowNor(gates, n("MR"), n("QN"), clock);
    nor(gates, n("MN"), n("MS"), n("M"));
    nor(gates, n("M"), n("MR"), n("MN"), "CLEAR");
    nor(gates, n("SS"), n("MN"), n("CLKN"));
    nor(gates, n("SR"), n("M"), n("CLKN"));
    nor(gates, n("QN"), n("SS"), n("Q"));
    nor(gates, n("Q"), n("SR"), n("QN"), "CLEAR");
    nor(gates, n("OUT"), n("Q"));
    return { clocks: [n("OUT")], data: [n("OUT"), n("M")] };
  },
};

/** As the sector latch: a gate that follows the data while it is open. */
const gatedLatch: Block = {
  stages: 6,
  add(gates, index, { data }) {
    const n = (name: string) => `${name}${index}`;
    nor(gates, n("NG"), "GATE");
    nor(gates, n("ND"), data);
    nor(gates, n("S"), n("ND"), n("NG"));
    nor(gates, n("R"), data, n("NG"));
    nor(gates, n("LN"), n("S"), n("L"));
    nor(gates, n("L"), n("R"), n("LN"));
    return { data: [n("L")] };
  },
};

/** As the flasher latch: set by a net, let go by a line. */
const latch: Block = {
  stages: 2,
  add(gates, index, { data }) {
    nor(gates, `BN${index}`, data, `B${index}`);
    nor(gates, `B${index}`, "CLEAR", `BN${index}`);
    return { data: [`B${index}`] };
  },
};

/** As the blast ring, brought to its first place by CLEAR. */
const ring: Block = {
  stages: 12,
  add(gates, index) {
    const n = (name: string) => `${name}${index}`;
    const place = (name: string, at: number) => n(`${name}${(at % 3) + 1}_`);
    for (const [gate, from, phase, back] of [
      ["KM", "S", "PH1N", 2],
      ["KS", "M", "PH2N", 0],
    ] as const)
      for (let at = 0; at < 3; at++) nor(gates, place(gate, at), phase, place(from, at + back));
    for (const [of, gate] of [
      ["M", "KM"],
      ["S", "KS"],
    ] as const)
      for (let at = 0; at < 3; at++) {
        const others = [place(of, at + 1), place(of, at + 2), place(gate, at)];
        nor(gates, place(of, at), ...others, ...(at === 0 ? [] : ["CLEAR"]));
      }
    return { data: [place("S", 0)] };
  },
};

const BLOCKS = [divider, gatedLatch, latch, ring];

/** @param stages of the board, exactly, where an even number is asked for */
export function randomBoard(stages: number, seed: number): Netlist {
  const next = seededChance(`board ${seed}`);
  const pick = <T>(all: readonly T[]) => all[Math.floor(next() * all.length)];
  const gates: Gate[] = [];
  const ends: Ends = { clocks: ["CLK"], data: ["CLK"] };
  for (let index = 0; gates.length < stages; index++) {
    const block = pick(BLOCKS.filter((one) => gates.length + one.stages <= stages));
    if (block === undefined) break;
    // Counters stand in a chain, as they do in a rack; what takes data may take it from anywhere.
    const from = { clock: ends.clocks.at(-1) ?? "CLK", data: pick(ends.data) ?? "CLK" };
    const { clocks = [], data = [] } = block.add(gates, index, from);
    ends.clocks.push(...clocks);
    ends.data.push(...data);
  }
  return {
    name: `board of ${gates.length} stages, seed ${seed}`,
    inputs: ["CLK", "CLEAR", "GATE", "PH1N", "PH2N"],
    outputs: gates.map(({ output }) => output),
    gates,
    flipFlops: [],
  };
}
