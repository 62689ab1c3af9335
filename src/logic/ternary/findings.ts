/**
 * What a settled step means: which nets may pulse, which loops may end either way or never come to rest, and
 * which lines, moved together, are to blame. A race that ends in one state whoever wins is no finding.
 */
import type { Circuit } from "../netlist/circuit.ts";
import { type Exploration, explore, type NotExplored } from "./explore.ts";
import { loopInputs, mayPulse, settlesWithoutPulses } from "./loop-inputs.ts";
import { type RacingPair, racingPairs } from "./racing-pairs.ts";
import type { Settling } from "./settle.ts";
import { isMoving, letterOf, UNKNOWN } from "./values.ts";

type FindingKind =
  /** A net that ends where it was and may pulse on the way. */
  | "static hazard"
  /** A net that changes, and may change three times or more on the way. */
  | "dynamic hazard"
  /** A loop that ends in one of several states, as delays will have it. */
  | "critical race"
  /** A loop that does not come to rest: in any state at all, or for as long as delays stay alike. */
  | "oscillation"
  /** A loop that a pulse on what it takes may turn over. */
  | "hazard caught"
  /** A loop that ends unknown, too large to say whether it races or oscillates. */
  | "race or oscillation"
  /** A loop that was unknown before and that this step leaves so: nobody has set it yet. */
  | "unknown before";

type Letter = "0" | "1" | "X";

export interface SettlingFinding {
  readonly kind: FindingKind;
  /** Nets it is about: the one that may pulse, or those of the loop that end unknown. */
  readonly nets: readonly string[];
  /** All nets of the feedback loop; empty for a hazard. */
  readonly loop: readonly string[];
  /** Nets from outside the loop whose pulse it may catch. */
  readonly pulses: readonly string[];
  /** Other nets that are unknown because these are. */
  readonly follows: readonly string[];
  /** Lines, or flip-flops at a clock, that moved. */
  readonly moved: readonly { readonly net: string; readonly from: Letter; readonly to: Letter }[];
  /** Of several lines moved at once, those whose order matters. */
  readonly pairs: readonly RacingPair[];
  /** States of the loop that the step can end in; null where this was not explored. */
  readonly ends: readonly Readonly<Record<string, Letter>>[] | null;
  /** Why ends are not listed, or that they hold for delays in gates alone; else null. */
  readonly limits: string | null;
  /** One sentence without its full stop. */
  readonly reason: string;
}

export interface FindingsOptions {
  /** Look for nets that may change three times too; costs an exploration of every step. */
  readonly dynamicHazards?: boolean;
}

/** What there is to say of a step, hazards first, then loops from the inputs onwards. */
export function settlingFindings(
  circuit: Circuit,
  settling: Settling,
  options: FindingsOptions = {},
): SettlingFinding[] {
  const moved = movedSources(circuit, settling);
  const openLoops = rootLoops(circuit, settling);
  const shared = { circuit, settling, moved };
  return [
    ...staticHazards(shared),
    ...(options.dynamicHazards ? dynamicHazards(shared) : []),
    ...openLoops.map((group) => loopFinding({ ...shared, group })),
  ];
}

interface Shared {
  readonly circuit: Circuit;
  readonly settling: Settling;
  readonly moved: SettlingFinding["moved"];
}

function movedSources(circuit: Circuit, { from, after }: Settling): SettlingFinding["moved"] {
  return [...circuit.inputs, ...circuit.flipFlopOutput]
    .filter((net) => from[net] !== after[net])
    .map((net) => ({
      net: circuit.nets[net] ?? "?",
      from: letterOf(from[net] as number),
      to: letterOf(after[net] as number),
    }));
}

/** Loops that end unknown though all they take from outside is known: whatever else is unknown follows. */
function rootLoops(circuit: Circuit, { after }: Settling): Int32Array[] {
  return circuit.loops.filter(
    (group) =>
      group.some((gate) => after[circuit.gateOutput[gate] as number] === UNKNOWN) &&
      loopInputs(circuit, group).every((net) => after[net] !== UNKNOWN),
  );
}

/** With delays in wires where it can be done, else in gates alone. */
function exploreBest(
  circuit: Circuit,
  settling: Settling,
  towards: readonly number[],
): Exploration | NotExplored {
  const full = explore(circuit, settling, { delays: "gates and wires", towards });
  if (full.explored) return full;
  const gates = explore(circuit, settling, { delays: "gates", towards });
  return gates.explored ? gates : full;
}

function staticHazards({ circuit, settling, moved }: Shared): SettlingFinding[] {
  return [...circuit.gateOutput]
    .filter((net) => mayPulse(settling, net))
    .map((net) => {
      const name = circuit.nets[net] ?? "?";
      const level = letterOf(settling.after[net] as number);
      const reason = `${name} is ${level} before and after, and may pulse when ${movedText(moved)}`;
      return { ...hazard("static hazard", name, moved), reason };
    });
}

function dynamicHazards({ circuit, settling, moved }: Shared): SettlingFinding[] {
  const { from, during, after } = settling;
  return [...circuit.gateOutput]
    .filter((net) => isMoving(during, net) && from[net] !== after[net])
    .filter((net) => from[net] !== UNKNOWN && after[net] !== UNKNOWN)
    .flatMap((net): SettlingFinding[] => {
      const explored = exploreBest(circuit, settling, [net]);
      if (!explored.explored || !explored.movesThrice.includes(net)) return [];
      const name = circuit.nets[net] ?? "?";
      const reason = `${name} may go to and fro before it is ${letterOf(after[net] as number)} when ${movedText(moved)}`;
      return [{ ...hazard("dynamic hazard", name, moved), reason, limits: limitsOf(explored) }];
    });
}

function hazard(kind: FindingKind, net: string, moved: SettlingFinding["moved"]) {
  const nothing = { loop: [], pulses: [], follows: [], pairs: [], ends: null, limits: null };
  return { kind, nets: [net], moved, ...nothing };
}

function loopFinding(given: Shared & { readonly group: Int32Array }): SettlingFinding {
  const { circuit, settling, moved, group } = given;
  const { from, after } = settling;
  const loopNets = Array.from(group, (gate) => circuit.gateOutput[gate] as number);
  const open = loopNets.filter((net) => after[net] === UNKNOWN);
  const named = (nets: readonly number[]) => nets.map((net) => circuit.nets[net] ?? "?");
  const wasUnknown = open.some((net) => from[net] === UNKNOWN);
  const pulses = loopInputs(circuit, group).filter((net) => mayPulse(settling, net));
  const isCaught = pulses.length > 0 && settlesWithoutPulses(circuit, settling, group);
  const explored = wasUnknown ? null : exploreBest(circuit, settling, loopNets);
  const ends = explored?.explored ? endsOf(circuit, explored, open) : null;
  const oscillates =
    explored?.explored === true && open.some((net) => explored.oscillating.includes(net));
  const kind = wasUnknown ? "unknown before" : kindOf({ ends, isCaught, oscillates });
  const inputs = circuit.inputs.map((net) => after[net] as number);
  const places = [...circuit.inputs.keys()].filter((place) => {
    const net = circuit.inputs[place] as number;
    return from[net] !== after[net];
  });
  const finding = {
    kind,
    nets: named(open),
    loop: named(loopNets),
    pulses: isCaught ? named(pulses) : [],
    follows: named(followers(circuit, settling, new Set(loopNets))),
    moved,
    pairs: wasUnknown ? [] : racingPairs({ circuit, from, inputs, moved: places, nets: open }),
    ends,
    limits: limitsOf(explored),
  };
  return { ...finding, reason: reasonOf(finding) };
}

function kindOf(facts: {
  readonly ends: SettlingFinding["ends"];
  readonly isCaught: boolean;
  readonly oscillates: boolean;
}): FindingKind {
  const { ends, isCaught, oscillates } = facts;
  if (ends?.length === 0) return "oscillation";
  if (isCaught) return "hazard caught";
  if (ends !== null && ends.length > 1) return "critical race";
  return oscillates ? "oscillation" : "race or oscillation";
}

/** Different states of these nets among the ends of a whole step. */
function endsOf(
  circuit: Circuit,
  { ends }: Exploration,
  nets: readonly number[],
): Readonly<Record<string, Letter>>[] {
  const byLetters = new Map<string, Readonly<Record<string, Letter>>>();
  for (const values of ends) {
    const letters = nets.map((net): [string, Letter] => [
      circuit.nets[net] ?? "?",
      letterOf(values[net] as number),
    ]);
    byLetters.set(letters.map(([, letter]) => letter).join(""), Object.fromEntries(letters));
  }
  return [...byLetters].sort(([one], [other]) => (one < other ? -1 : 1)).map(([, end]) => end);
}

/** Unknown nets that take from the loop, directly or through others. */
function followers(circuit: Circuit, { after }: Settling, loop: ReadonlySet<number>): number[] {
  const found = new Set(loop);
  for (const net of found) {
    const end = circuit.takerStart[net + 1] as number;
    for (let at = circuit.takerStart[net] as number; at < end; at++) {
      const next = circuit.gateOutput[circuit.takers[at] as number] as number;
      if (after[next] === UNKNOWN) found.add(next);
    }
  }
  return [...found].filter((net) => !loop.has(net)).sort((a, b) => a - b);
}

function limitsOf(explored: Exploration | NotExplored | null): string | null {
  if (explored === null) return null;
  if (!explored.explored) return `not explored: ${explored.why}`;
  return explored.delays === "gates" ? "explored with delays in gates alone, not in wires" : null;
}

function reasonOf(finding: Omit<SettlingFinding, "reason">): string {
  const loop = finding.loop.join(", ");
  const when = `when ${movedText(finding.moved)}`;
  switch (finding.kind) {
    case "hazard caught":
      return `loop ${loop} may catch a pulse of ${finding.pulses.join(", ")} ${when}`;
    case "critical race":
      return `loop ${loop} ends in ${finding.ends?.length} ways, as delays will have it, ${when}`;
    case "oscillation":
      return finding.ends?.length === 0
        ? `loop ${loop} finds no state to rest in ${when}`
        : `loop ${loop} may go on moving for as long as delays are alike ${when}`;
    case "unknown before":
      return `loop ${loop} was unknown before, and this step does not set it`;
    default:
      return `loop ${loop} ends unknown ${when}: it races or oscillates`;
  }
}

function movedText(moved: SettlingFinding["moved"]): string {
  if (moved.length === 0) return "no line moves";
  const words = moved.map(({ net, to }) => {
    return to === "X" ? `${net} becomes unknown` : `${net} goes ${to === "1" ? "high" : "low"}`;
  });
  return words.length === 1
    ? (words[0] ?? "")
    : `${words.slice(0, -1).join(", ")} and ${words.at(-1)} at once`;
}
