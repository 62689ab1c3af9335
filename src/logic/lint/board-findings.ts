/** Findings on what a sequence is run on: states nobody holds, contacts that bounce, waits that are short. */
import type { PlannedStep } from "../../events/plan.ts";
import type { StepAt } from "../expect/stops.ts";
import { HIGH, LOW, UNKNOWN, type Walked } from "../expect/walk.ts";
import { Lanes } from "../lanes/lanes.ts";
import type { Circuit } from "../netlist/circuit.ts";
import { listedNets } from "../netlist/listed-nets.ts";
import type { Finding } from "./finding.ts";
import type { WalkFacts } from "./step-findings.ts";

/**
 * Feedback that keeps a state and that no hold watches: a latch that loses its state in a second passes every
 * pattern.
 *
 * @param steps of the pass
 */
export function neverHeld({ walk }: WalkFacts, steps: readonly StepAt[]): Finding[] {
  const held = new Set(steps.flatMap(({ step }) => heldNets(step)));
  return walk.circuit.loops.flatMap((loop): Finding[] => {
    const nets = Array.from(loop, (gate) => walk.circuit.netlist.gates[gate]?.output ?? "?");
    if (nets.some((net) => held.has(net))) return [];
    return [
      {
        rule: "never held",
        file: "sequence",
        path: ["steps"],
        part: "key",
        why: `${listedNets(nets)} feed back on each other and keep a state, and no hold proves that it stands`,
        whatToDo: `add a hold that expects one of them, for longer than the board's slowest time constant`,
      },
    ];
  });
}

function heldNets(step: PlannedStep): string[] {
  return step.kind === "hold" ? Object.keys(step.expect) : [];
}

/** A line of the rig that a mechanical contact drives, and where it is written. */
export interface ContactLine {
  readonly line: string;
  /** Place among the rig's outputs. */
  readonly output: number;
}

/**
 * Lines on which a bounce changes what the board comes to: driven, let go and driven again it ends otherwise
 * than driven once, somewhere in the walk.
 *
 * @param contacts lines driven by contacts that bounce; those a board carries through it left out
 */
export function bouncing({ walk }: WalkFacts, contacts: readonly ContactLine[]): Finding[] {
  const lanes = new Lanes(walk.circuit, []);
  return contacts.flatMap(({ line, output }): Finding[] => {
    const found = firstBounce(walk.circuit, lanes, line, [walk.pass, walk.cycle]);
    if (found === null) return [];
    const { walked, nets } = found;
    return [
      {
        rule: "bouncing clock",
        file: "rig",
        path: ["outputs", output, "line"],
        part: "value",
        why: `a second touch of the contact of ${line} counts as a second edge: ${listedNets(nets)} would be otherwise after ${walked.stop.label}`,
        whatToDo: `drive ${line} by a contact that cannot bounce, or carry it through the bounce on the board and say so under steadyLines`,
      },
    ];
  });
}

function firstBounce(
  circuit: Circuit,
  lanes: Lanes,
  line: string,
  lists: readonly (readonly Walked[])[],
): { readonly walked: Walked; readonly nets: readonly string[] } | null {
  const pin = circuit.inputs.indexOf(circuit.netOf.get(line) ?? -1);
  if (pin < 0) return null;
  const tried = new Set<string>();
  for (const list of lists) {
    for (const [index, walked] of list.entries()) {
      const before = list[index - 1];
      if (before === undefined || !walked.changed.includes(line)) continue;
      const key = `${before.levels.join("")}/${walked.levels.join("")}`;
      if (tried.has(key)) continue;
      tried.add(key);
      const nets = differing(circuit, lanes, { before, walked, pin });
      if (nets.length > 0) return { walked, nets };
    }
  }
  return null;
}

/** Nets that end otherwise after the contact has touched, left and touched again. */
function differing(
  circuit: Circuit,
  lanes: Lanes,
  {
    before,
    walked,
    pin,
  }: { readonly before: Walked; readonly walked: Walked; readonly pin: number },
): string[] {
  const to = Uint8Array.from(circuit.inputs, (net) => walked.levels[net] ?? UNKNOWN);
  const level = to[pin] ?? UNKNOWN;
  if (level === UNKNOWN) return [];
  const away = Uint8Array.from(to);
  away[pin] = level === HIGH ? LOW : HIGH;
  lanes.startFrom(before.levels);
  for (const inputs of [to, away, to]) lanes.step(inputs);
  return circuit.nets.filter((_, net) => {
    const once = walked.levels[net] ?? UNKNOWN;
    return once !== UNKNOWN && lanes.value(net) !== once;
  });
}

/** How long a step must wait before it reads, and what for. */
export interface WaitNeeded {
  readonly ms: number;
  /** Such as `relay 15 ms + slowest time constant 10 ms + filter of Q 15 ms`. */
  readonly words: string;
}

/**
 * Steps that read before contact, board and filter have settled one after the other.
 *
 * @param needed for a step that moves lines and reads these nets
 */
export function readTooSoon(
  steps: readonly StepAt[],
  needed: (step: PlannedStep) => WaitNeeded,
): Finding[] {
  return steps.flatMap(({ step, path }): Finding[] => {
    const { ms, words } = needed(step);
    if (step.settleMs >= ms) return [];
    return [
      {
        rule: "read too soon",
        file: "sequence",
        path: [...path, "settleMs"],
        part: "value",
        why: `${step.settleMs} ms is shorter than ${Math.ceil(ms)} ms: ${words}, one after the other`,
        whatToDo: `wait at least ${Math.ceil(ms)}`,
      },
    ];
  });
}
