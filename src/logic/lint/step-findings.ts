/** Findings at single stops of a walk: what the model cannot know there, and what a person says otherwise. */

import { causeOf, causeText, levelWord, type UnknownCause } from "../expect/causes.ts";
import { contradictions, contradictionText } from "../expect/expected-classes.ts";
import { HIGH, LOW, type SequenceWalk, UNKNOWN, type Walked } from "../expect/walk.ts";
import { type Circuit, pinsOf } from "../netlist/circuit.ts";
import type { Finding } from "./finding.ts";

export interface WalkFacts {
  readonly walk: SequenceWalk;
  readonly unknownNets: readonly string[];
}

/** Classes written by hand that the model does not share; the board decides. */
export function disagreeing({ walk }: WalkFacts): Finding[] {
  return contradictions(walk).map((one) => ({
    rule: "model disagrees",
    file: "sequence",
    path: one.path,
    part: "value",
    why: contradictionText(one),
    whatToDo: "mend the class, the step or the stages; nothing is changed for you",
  }));
}

/** Nets that come to rest either way, at the step that leaves it open. */
export function racing({ walk, unknownNets }: WalkFacts): Finding[] {
  return [...walk.pass, ...walk.cycle].flatMap((walked): Finding[] => {
    const { circuit, byPlace: stops } = walk;
    const cause = [...circuit.nets.keys()]
      .filter((net) => walked.levels[net] === UNKNOWN && walked.divided[net] === 0)
      .map((net) => causeOf({ circuit, walked, net, stops, unknownNets }))
      .find((one) => one.kind === "race" && one.at === walked);
    if (cause?.kind !== "race") return [];
    const lines = walked.changed.filter((line) => circuit.netOf.has(line));
    const together = lines.length > 1;
    return [
      {
        rule: cause.rests ? (together ? "released together" : "race") : "never rests",
        file: "sequence",
        path: walked.stop.path,
        part: "key",
        why: `${walked.stop.label}: ${causeText(cause)}`,
        whatToDo: !cause.rests
          ? "look at the stages that feed back on each other: an odd number of them turns over and over"
          : together
            ? `move ${lines.join(" and ")} in steps of their own, in the order you mean; contacts never move at once`
            : "come here by another line, or slow the stage that must lose the race and say so in the board file",
      },
    ];
  });
}

/** Classes written for a net that nothing in the sequence has set. */
export function relying({ walk, unknownNets }: WalkFacts): Finding[] {
  return [...walk.pass, ...walk.cycle].flatMap((walked) => {
    const { circuit, byPlace: stops } = walk;
    return expectedUnknown(circuit, walked).flatMap(([name, net]): Finding[] => {
      const cause = causeOf({ circuit, walked, net, stops, unknownNets });
      const words = RELYING_WORDS[cause.kind];
      if (words === undefined) return [];
      return [
        {
          ...words,
          file: "sequence",
          path: [...(walked.stop.expectPath ?? []), name],
          part: "key",
          why: `${name} at ${walked.stop.label}: ${causeText(cause)}`,
        },
      ];
    });
  });
}

/** A race is told where it happens, whoever expects what after it. */
const RELYING_WORDS: Readonly<
  Partial<Record<UnknownCause["kind"], Pick<Finding, "rule" | "whatToDo">>>
> = {
  "power-up": {
    rule: "relies on the past",
    whatToDo: "set it by a line in a step before, so that every board begins alike",
  },
  history: {
    rule: "relies on the past",
    whatToDo: "drive every line in the first step, so that it begins alike whatever was before",
  },
  "line not driven": {
    rule: "relies on the past",
    whatToDo: "drive the line in this step or one before",
  },
  "not modelled": {
    rule: "not modelled",
    whatToDo:
      "keep the class as yours: no model stands behind it, and the record will not say one does",
  },
};

function expectedUnknown(
  circuit: Circuit,
  { levels, stop }: Walked,
): [name: string, net: number][] {
  return Object.keys(stop.expect).flatMap((name): [string, number][] => {
    const net = circuit.netOf.get(name);
    return net !== undefined && levels[net] === UNKNOWN ? [[name, net]] : [];
  });
}

/** Warm-up patterns that do not pull what they say: a section would be taken for warm or cold wrongly. */
export function notPulling({ walk, unknownNets }: WalkFacts): Finding[] {
  const { byPlace: stops } = walk;
  return walk.exercise.flatMap((walked) => {
    const { levels, stop } = walked;
    const isModelled = (net: number) =>
      levels[net] !== UNKNOWN ||
      causeOf({ circuit: walk.circuit, walked, net, stops, unknownNets }).kind !== "not modelled";
    return Object.keys(stop.expect).flatMap((name, index): Finding[] => {
      const net = walk.circuit.netOf.get(name);
      const level = net === undefined ? undefined : levels[net];
      if (net === undefined || (level !== HIGH && level !== UNKNOWN)) return [];
      if (!isModelled(net)) return [];
      return [
        {
          rule: "does not pull",
          file: "sequence",
          path: [...(stop.expectPath ?? []), index],
          part: "value",
          why: `${stop.label} ${level === HIGH ? `leaves ${name} high` : `does not surely pull ${name} low`}: its section would never be seen to conduct`,
          whatToDo: "drive a line that pulls it, or take it out of pullsLow",
        },
      ];
    });
  });
}

/**
 * Nets that two warm-up patterns pull low through different inputs of their stage. Warmth is asked of the lows of
 * all patterns together, and a stage pulled by two sections, or through two inputs, reads lower than by one: where
 * that is more than the band of steadiness, a warm section never counts as warm.
 */
export function pullingUnlike({ walk }: WalkFacts): Finding[] {
  const { circuit, exercise } = walk;
  return exercise.flatMap(({ levels, stop }, at) =>
    Object.keys(stop.expect).flatMap((name, index): Finding[] => {
      const net = circuit.netOf.get(name) ?? -1;
      const gate = circuit.driver[net] ?? -1;
      // A net that is not surely low is told as one that does not pull.
      if (gate < 0 || levels[net] !== LOW) return [];
      const pins = [...pinsOf(circuit, gate)];
      const unlike = (before: Walked) =>
        name in before.stop.expect &&
        before.levels[net] === LOW &&
        pins.some((pin) => before.levels[pin] !== levels[pin]);
      const other = exercise.slice(0, at).find(unlike);
      if (other === undefined) return [];
      const driven = (now: Uint8Array) =>
        pins.map((pin) => `${circuit.nets[pin] ?? "?"} ${levelWord(now[pin] ?? UNKNOWN)}`);
      return [
        {
          rule: "pulls unlike",
          file: "sequence",
          path: [...(stop.expectPath ?? []), index],
          part: "value",
          why: `${name} is pulled low with ${driven(levels).join(", ")} here and with ${driven(other.levels).join(", ")} in ${other.stop.label}: its lows may lie further apart than steadyBandV, and then it never counts as warm`,
          whatToDo: "name it under one of the two alone, or drive its stage alike in both",
        },
      ];
    }),
  );
}

/** Steps that move nothing and read nothing that the step before did not. */
export function repeating({ walk }: WalkFacts): Finding[] {
  const lists = [walk.pass, walk.cycle];
  return lists.flatMap((list) =>
    list.flatMap((walked, index): Finding[] => {
      const { stop, changed } = walked;
      const before = list[index - 1]?.stop;
      if (before === undefined || stop.part !== "pattern" || changed.length > 0) return [];
      // Inside a repeat the first round may follow anything, and a step is there for all rounds.
      if (before.part !== "pattern" || (stop.path.length > 2 && stop.path[0] === "steps"))
        return [];
      const adds = Object.entries(stop.expect).some(([net, level]) => before.expect[net] !== level);
      if (adds) return [];
      return [
        {
          rule: "nothing new",
          file: "sequence",
          path: stop.path,
          part: "key",
          why: `${stop.label} moves no line and reads what ${before.label} has read`,
          whatToDo: "take it out, or use a hold if the state is to stand for a time",
        },
      ];
    }),
  );
}
