/** Why a net is not known at a stop, and why it is what it is where it is known. */
import type { Circuit } from "../netlist/circuit.ts";
import { pinsOf } from "../netlist/circuit.ts";
import { listedNets } from "../netlist/listed-nets.ts";
import { settlingFindings } from "../ternary/findings.ts";
import { settle } from "../ternary/settle.ts";
import { HIGH, LOW, UNKNOWN, type Walked } from "./walk.ts";

export type UnknownCause =
  /** Lines were moved, and where the nets come to rest depends on which stage is quicker. */
  | {
      readonly kind: "race";
      readonly at: Walked;
      readonly nets: readonly string[];
      /** False where they go to and fro and come to rest nowhere. */
      readonly rests: boolean;
    }
  /** Nothing has brought it to a known level since power-up. */
  | { readonly kind: "power-up"; readonly nets: readonly string[] }
  /** It depends on which warm-up pattern came last, or on the round of the cycle. */
  | { readonly kind: "history" }
  /** It hangs on a stage whose logic is not known, or on a net that nothing drives. */
  | { readonly kind: "not modelled"; readonly nets: readonly string[] }
  /** It hangs on a line that nothing has driven yet. */
  | { readonly kind: "line not driven"; readonly nets: readonly string[] };

export interface CauseGiven {
  readonly circuit: Circuit;
  readonly walked: Walked;
  readonly net: number;
  /** Every stop of the walk, in its order: `unknownSince` counts in it. */
  readonly stops: ReadonlyMap<number, Walked>;
  /** Nets nobody knows the level of, by name. */
  readonly unknownNets: readonly string[];
}

/** Why a net that is unknown at a stop is so. */
export function causeOf({ circuit, walked, net, stops, unknownNets }: CauseGiven): UnknownCause {
  if (walked.divided[net] === 1) return { kind: "history" };
  const behind = unknownBehind(circuit, walked.levels, net);
  const named = (numbers: readonly number[]) => numbers.map((one) => circuit.nets[one] ?? "?");
  const inputs = new Set(circuit.inputs);
  const roots = named(behind.filter((one) => inputs.has(one)));
  const notModelled = roots.filter((name) => unknownNets.includes(name));
  if (notModelled.length > 0) return { kind: "not modelled", nets: notModelled };
  if (roots.length > 0) return { kind: "line not driven", nets: roots };
  if (behind.some((one) => walked.divided[one] === 1)) return { kind: "history" };
  const nets = named(behind);
  const since = Math.min(...behind.map((one) => walked.unknownSince[one] ?? -1));
  const at = stops.get(since);
  if (at === undefined) return { kind: "power-up", nets };
  return { kind: "race", at, nets, rests: comesToRest(circuit, at) };
}

/** Exploring a step takes its time, and a table asks for each net of it. */
const rests = new WeakMap<Walked, boolean>();

function comesToRest(circuit: Circuit, walked: Walked): boolean {
  const known = rests.get(walked);
  if (known !== undefined) return known;
  const inputs = Array.from(circuit.inputs, (net) => walked.levels[net] ?? UNKNOWN);
  const settling = settle(circuit, walked.before, inputs);
  const found = !settlingFindings(circuit, settling).some(({ kind }) => kind === "oscillation");
  rests.set(walked, found);
  return found;
}

/** The net and every unknown net it takes from, through however many stages. */
function unknownBehind(circuit: Circuit, levels: Uint8Array, net: number): number[] {
  const seen = new Set([net]);
  for (const one of seen) {
    const gate = circuit.driver[one] ?? -1;
    if (gate < 0) continue;
    for (const pin of pinsOf(circuit, gate)) if (levels[pin] === UNKNOWN) seen.add(pin);
  }
  return [...seen].sort((a, b) => a - b);
}

/** Stages told of one net: the whole chain of a large board helps nobody. */
const STAGES_TOLD_MAX = 4;

/**
 * How a net comes to its level, stage by stage backwards: `Q is V1b: nor of RESET low, QN low`.
 */
export function stagePath(circuit: Circuit, levels: Uint8Array, net: string): string {
  const told: string[] = [];
  const nets = new Set([net]);
  for (const name of nets) {
    const number = circuit.netOf.get(name) ?? -1;
    const gate = circuit.driver[number] ?? -1;
    const facts = circuit.netlist.gates[gate];
    if (facts === undefined) continue;
    if (told.length === STAGES_TOLD_MAX) {
      told.push("and so on");
      break;
    }
    const pins = facts.inputs.map((input) => `${input} ${levelName(levels, circuit, input)}`);
    told.push(`${name} is ${facts.name}: ${facts.type} of ${pins.join(", ")}`);
    for (const input of facts.inputs) nets.add(input);
  }
  return told.join("; ");
}

function levelName(levels: Uint8Array, circuit: Circuit, net: string): string {
  return levelWord(levels[circuit.netOf.get(net) ?? -1] ?? UNKNOWN);
}

/** `low`, `high` or `X`. */
export function levelWord(level: number): "low" | "high" | "X" {
  if (level === LOW) return "low";
  return level === HIGH ? "high" : "X";
}

/** A cause as a sentence without its full stop, to stand after `X: `. */
export function causeText(cause: UnknownCause): string {
  switch (cause.kind) {
    case "race": {
      const { changed, stop } = cause.at;
      const moved =
        changed.length === 0
          ? "when the lines were driven"
          : `when ${changed.map((line) => `${line} goes ${stop.set[line]}`).join(" and ")}`;
      const how = cause.rests ? "may end either way" : "may go to and fro without coming to rest";
      return `${listedNets(cause.nets)} ${how} ${moved} at ${stop.label}`;
    }
    case "power-up":
      return `nothing has brought ${listedNets(cause.nets)} to a known level since power-up`;
    case "history":
      return "it depends on what came before: which warm-up pattern was last, or which round it is";
    case "not modelled":
      return `it hangs on ${listedNets(cause.nets)}, which the model does not know`;
    case "line not driven":
      return `it hangs on ${listedNets(cause.nets)}, which nothing has driven yet`;
  }
}
