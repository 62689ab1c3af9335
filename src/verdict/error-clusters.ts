/**
 * What the errors of a soak have in common: whether they crowd at a step, in a time since power-up, in an
 * hour, at a temperature, after a line moved or with repeats on the link, more than chance allows. Each
 * question is answered by an exact test against how the cycles themselves were spread, and every answer is
 * corrected for the number of all that was asked.
 *
 * Errors of a few cycles on end have one cause and one place: they are one occurrence here.
 */
import type { Bin, Crowd, Part } from "../measure/statistics/crowding.ts";
import { eachOf, mostCrowded, runsOf } from "../measure/statistics/crowding.ts";
import { equalParts, partOf } from "../measure/statistics/equal-parts.ts";
import { mannKendall } from "../measure/statistics/mann-kendall.ts";

/** An error, and what was so at that moment. */
export interface ErrorMoment {
  /** Number of the cycle in the whole soak. */
  readonly cycle: number;
  /** The step at which it showed first, by the name of `SoakGround.steps`. */
  readonly step: string;
  /** Since plate came on, ms. */
  readonly onMs: number;
  /** Since the soak began, h. */
  readonly hour: number;
  readonly celsius: number | null;
  /** Lines that moved for that step. */
  readonly moved: readonly string[];
  /** Exchanges of that cycle that had to be asked again. */
  readonly repeats: number;
}

/** Cycles in a row under like conditions, such as between two full sets of readings. */
interface CycledStretch {
  readonly cycles: number;
  /** At its middle; as in `ErrorMoment`. */
  readonly onMs: number;
  readonly hour: number;
  readonly celsius: number | null;
}

/** What the errors are held against: everything that was cycled, right or wrong. */
export interface SoakGround {
  readonly stretches: readonly CycledStretch[];
  /** One cycle's steps: what is read in each, and which lines move for it. */
  readonly steps: readonly {
    readonly step: string;
    readonly readings: number;
    readonly moved: readonly string[];
  }[];
  /** Exchanges asked again in the whole soak. */
  readonly repeats: number;
}

export type ClusterQuestion =
  | "step"
  | "time on power"
  | "time of night"
  | "temperature"
  | "line moved"
  | "link repeats";

/** Where the errors crowd: by name, or between two values; null is open to that side. */
type ClusterPlace =
  | { readonly kind: "name"; readonly name: string; readonly moved: readonly string[] }
  | { readonly kind: "span"; readonly low: number | null; readonly high: number | null };

export interface ClusterFinding {
  readonly question: ClusterQuestion;
  readonly place: ClusterPlace;
  /** Occurrences there, of all for which it is known. */
  readonly inside: number;
  readonly total: number;
  /** Part of all cycles (or readings) that were there, 0 to 1. */
  readonly share: number;
  /** Chance of so much crowding or more, corrected for all that was asked; up to 1. */
  readonly chance: number;
}

export interface ErrorClusters {
  readonly errors: number;
  /** Errors less those that came right after another. */
  readonly occurrences: number;
  /** Parts that were looked at, over all questions. */
  readonly asked: number;
  readonly askedOf: readonly ClusterQuestion[];
  readonly notAsked: readonly { readonly question: ClusterQuestion; readonly why: NotAsked }[];
  /** Least chance first; those that chance would give at most one time in twenty. */
  readonly findings: readonly ClusterFinding[];
  /** Questions that went together through the soak, so that one finding may be the other's. */
  readonly together: readonly (readonly [ClusterQuestion, ClusterQuestion])[];
}

export type NotAsked =
  /** It was the same all the time. */
  | "did not vary"
  | "not measured"
  /** It is another question in other words: one time on power, say. */
  | "same as another";

/** Cycles within which a further error belongs to the one before; as many as are kept around one. */
const BURST_CYCLES = 10;
/** Parts that a time or temperature is cut into at most: 20 runs of neighbours to look at. */
const PARTS_MAX = 6;
/** A finding is what chance gives one time in twenty, all questions together. */
const CHANCE_MAX = 0.05;
/** Kendall's tau beyond which two conditions went together. */
const TOGETHER_TAU = 0.7;

/** One question put into bins, before it is known how many are asked in all. */
interface Asked {
  readonly question: ClusterQuestion;
  readonly bins: readonly Bin[];
  readonly parts: readonly Part[];
  placeOf(part: Part): ClusterPlace;
}

type Prepared = Asked | { readonly question: ClusterQuestion; readonly why: NotAsked };

export function findClusters(errors: readonly ErrorMoment[], ground: SoakGround): ErrorClusters {
  const occurrences = apart(errors);
  const sameTime = ground.stretches.every(
    ({ onMs, hour }, at, all) =>
      at === 0 ||
      Math.sign(onMs - (all[at - 1]?.onMs ?? 0)) === Math.sign(hour - (all[at - 1]?.hour ?? 0)),
  );
  const prepared: Prepared[] = [
    byStep(occurrences, ground),
    spread("time on power", ({ onMs }) => onMs, occurrences, ground),
    sameTime
      ? { question: "time of night", why: "same as another" }
      : spread("time of night", ({ hour }) => hour, occurrences, ground),
    spread("temperature", ({ celsius }) => celsius, occurrences, ground),
    ...byLine(occurrences, ground),
    byRepeats(occurrences, ground),
  ];
  const asked = prepared.filter((one) => "bins" in one);
  const count = asked.reduce((sum, { parts }) => sum + parts.length, 0);
  const findings = asked
    .map((one) => findingOf(one, mostCrowded(one.bins, one.parts), count))
    .filter((one) => one !== null)
    .filter(({ chance }) => chance <= CHANCE_MAX)
    .sort((a, b) => a.chance - b.chance);
  return {
    errors: errors.length,
    occurrences: occurrences.length,
    asked: count,
    askedOf: [...new Set(asked.map(({ question }) => question))],
    notAsked: prepared.flatMap((one) =>
      "why" in one ? [{ question: one.question, why: one.why }] : [],
    ),
    findings,
    together: wentTogether(ground, new Set(findings.map(({ question }) => question))),
  };
}

function findingOf(one: Asked, crowd: Crowd | null, asked: number): ClusterFinding | null {
  if (crowd === null) return null;
  const { inside, total, share, chance } = crowd;
  return {
    question: one.question,
    place: one.placeOf(crowd),
    inside,
    total,
    share,
    chance: Math.min(1, chance * asked),
  };
}

/** The first of each few errors on end. */
function apart(errors: readonly ErrorMoment[]): ErrorMoment[] {
  const sorted = [...errors].sort((a, b) => a.cycle - b.cycle);
  return sorted.filter(
    ({ cycle }, at) => at === 0 || cycle - (sorted[at - 1]?.cycle ?? 0) > BURST_CYCLES,
  );
}

function byStep(errors: readonly ErrorMoment[], { steps }: SoakGround): Prepared {
  if (steps.length < 2) return { question: "step", why: "did not vary" };
  return {
    question: "step",
    bins: steps.map(({ step, readings }) => ({
      exposure: readings,
      count: readings === 0 ? 0 : errors.filter((error) => error.step === step).length,
    })),
    parts: eachOf(steps.length),
    placeOf: ({ from }) => ({
      kind: "name",
      name: steps[from]?.step ?? "",
      moved: steps[from]?.moved ?? [],
    }),
  };
}

/** A time or a temperature, in parts of about equal cycles. */
function spread(
  question: ClusterQuestion,
  of: (at: { onMs: number; hour: number; celsius: number | null }) => number | null,
  errors: readonly ErrorMoment[],
  { stretches }: SoakGround,
): Prepared {
  const known = stretches.flatMap((stretch) => {
    const value = of(stretch);
    return value === null || stretch.cycles === 0 ? [] : [{ value, weight: stretch.cycles }];
  });
  const values = errors.map(of).filter((value) => value !== null);
  if (known.length === 0 || (errors.length > 0 && values.length === 0)) {
    return { question, why: "not measured" };
  }
  const { edges, weights } = equalParts(known, PARTS_MAX);
  if (edges.length === 0) return { question, why: "did not vary" };
  const places = values.map((value) => partOf(edges, value));
  return {
    question,
    bins: weights.map((exposure, at) => ({
      exposure,
      count: places.filter((place) => place === at).length,
    })),
    parts: runsOf(weights.length),
    placeOf: ({ from, to }) => ({
      kind: "span",
      low: edges[from - 1] ?? null,
      high: edges[to] ?? null,
    }),
  };
}

/** Every line that moves for some steps and not for others; for one step alone it is that step's question. */
function byLine(errors: readonly ErrorMoment[], { steps }: SoakGround): Prepared[] {
  const lines = [...new Set(steps.flatMap(({ moved }) => moved))];
  const asked = lines.flatMap((name) => {
    const movedIn = steps.filter(({ moved }) => moved.includes(name));
    if (movedIn.length < 2 || movedIn.length === steps.length) return [];
    const readings = (some: SoakGround["steps"]) =>
      some.reduce((sum, step) => sum + step.readings, 0);
    const count = errors.filter(({ moved }) => moved.includes(name)).length;
    const exposure = readings(movedIn);
    return exposure === 0
      ? []
      : [binary("line moved", name, { exposure, count }, { whole: readings(steps), errors })];
  });
  if (asked.length > 0) return asked;
  return [{ question: "line moved", why: lines.length === 0 ? "did not vary" : "same as another" }];
}

/** Cycles with a repeat are no more than repeats: taken as so many, which is the careful way. */
function byRepeats(errors: readonly ErrorMoment[], { stretches, repeats }: SoakGround): Prepared {
  const cycles = stretches.reduce((sum, stretch) => sum + stretch.cycles, 0);
  const count = errors.filter((error) => error.repeats > 0).length;
  const exposure = Math.max(repeats, count);
  if (exposure === 0 || exposure >= cycles) {
    return { question: "link repeats", why: "did not vary" };
  }
  return binary("link repeats", "repeats", { exposure, count }, { whole: cycles, errors });
}

function binary(
  question: ClusterQuestion,
  name: string,
  inside: Bin,
  all: { readonly whole: number; readonly errors: readonly ErrorMoment[] },
): Asked {
  return {
    question,
    bins: [
      inside,
      { exposure: all.whole - inside.exposure, count: all.errors.length - inside.count },
    ],
    parts: [{ from: 0, to: 0 }],
    placeOf: () => ({ kind: "name", name, moved: [] }),
  };
}

/** Temperature with one of the times, where either is among the findings. */
function wentTogether(
  { stretches }: SoakGround,
  found: ReadonlySet<ClusterQuestion>,
): [ClusterQuestion, ClusterQuestion][] {
  const warm = stretches.flatMap(({ onMs, hour, celsius }) =>
    celsius === null ? [] : [{ onMs, hour, celsius }],
  );
  if (warm.length < 3) return [];
  return (["time on power", "time of night"] as const).flatMap((question) => {
    if (!found.has(question) && !found.has("temperature")) return [];
    const time = ({ onMs, hour }: { onMs: number; hour: number }) =>
      question === "time on power" ? onMs : hour;
    const inTime = [...warm].sort((a, b) => time(a) - time(b)).map(({ celsius }) => celsius);
    return Math.abs(mannKendall(inTime).tau) >= TOGETHER_TAU ? [["temperature", question]] : [];
  });
}
