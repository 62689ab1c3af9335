/**
 * The same Verilog with gates unequally slow, lines that move one after another in any order, and
 * contacts that bounce: where a board comes to rest may not depend on any of these. Delays and order
 * are drawn from a seed, so that a race that is found stays found.
 */
import { parse } from "yaml";

interface Part {
  readonly kind: string;
  readonly from?: string;
  readonly to?: string;
  readonly farad?: number;
}

/** All in us. A stage on 100 pF takes some 5 us; thresholds within limits put 20 us between two. */
const GATE_US = [1, 20] as const;
/** From 12 V to a threshold within its limits, 47 k on 4.7 nF; other such nets in proportion. */
const GATE_US_PER_NANOFARAD = [13, 50] as const;
const SLOW_FARAD = 1e-9;
/** Rests and gaps of a bouncing contact, and what lies between two relays ordered at once. */
const REST_US = [100, 400] as const;
const GAP_US = [100, 300] as const;
const APART_US = [300, 3000] as const;
const BOUNCES = 3;

type Draw = (range: readonly [number, number]) => number;

/** Text made by `verilogOf` for the board of this circuit, upset as the seed has it. */
export function withRaces(verilog: string, circuitYaml: string, seed: number): string {
  const { parts } = parse(circuitYaml) as { parts: readonly Part[] };
  const farads = new Map(
    parts
      .filter(({ kind, to }) => kind === "capacitor" && to === "common")
      .map(({ from, farad }) => [from ?? "", farad ?? 0]),
  );
  const draw = drawing(seed);
  return verilog
    .split("\n")
    .map((line) => gateLine(line, farads, draw) ?? moveLine(line, farads, draw) ?? line)
    .join("\n");
}

function gateLine(line: string, farads: ReadonlyMap<string, number>, draw: Draw): string | null {
  const [, gate, name, output] = /^ {2}([a-z]+) #1 (\w+)\((\w+)/.exec(line) ?? [];
  if (gate === undefined || name === undefined || output === undefined) return null;
  const farad = farads.get(output) ?? 0;
  const [least, most] = farad > SLOW_FARAD ? GATE_US_PER_NANOFARAD : GATE_US;
  const factor = farad > SLOW_FARAD ? farad * 1e9 : 1;
  const range = [least * factor, most * factor] as const;
  return line.replace("#1", `#(${draw(range)}, ${draw(range)})`);
}

/** A changeover contact in flight or in a gap leaves its line low, unless a capacitor holds it. */
function moveLine(line: string, farads: ReadonlyMap<string, number>, draw: Draw): string | null {
  const sets = /^ {4}(.*;) #1000;$/.exec(line)?.[1]?.match(/\w+ = [01]/g);
  if (!sets) return null;
  const inOrder = sets
    .map((set) => ({ set, place: draw([0, 1e6]) }))
    .sort((a, b) => a.place - b.place);
  const moves = inOrder.map(({ set }) => {
    const [name = "", level] = set.split(" = ");
    const bounces = level === "1" && !farads.has(name) ? BOUNCES : 0;
    const bounce = () => `${name} = 1; #${draw(REST_US)}; ${name} = 0; #${draw(GAP_US)};`;
    const bounced = Array.from({ length: bounces }, bounce);
    return [...bounced, `${set}; #${draw(APART_US)};`].join(" ");
  });
  return `    ${moves.join(" ")} #5000;`;
}

/** Whole numbers of a range, ends included, by a linear congruence (constants from memory). */
function drawing(seed: number): Draw {
  let state = Math.imul(seed + 1, 2_654_435_761) >>> 0;
  return ([least, most]) => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return Math.round(least + ((most - least) * state) / 2 ** 32);
  };
}
