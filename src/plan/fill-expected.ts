/**
 * Expectations a sequence leaves out, filled in by the model of the board's stages before anything runs. What
 * a file says is never touched, and what the model does not know is never guessed.
 */
import type { ExpectedClasses, LineLevels, PatternStep, PlannedStep } from "../events/plan.ts";
import type { ValuePath } from "../formats/yaml-tree.ts";
import { causeOf, causeText } from "../logic/expect/causes.ts";
import { classesAt } from "../logic/expect/expected-classes.ts";
import { type SequenceWalk, UNKNOWN, type Walked, walkSequence } from "../logic/expect/walk.ts";
import { compileCircuit } from "../logic/netlist/circuit.ts";
import { type BoardLogic, boardLogic } from "../logic/netlist/from-board.ts";
import { flattenSteps, type PlacedStep, soakSteps } from "./flatten-steps.ts";
import { LineStates } from "./line-states.ts";
import { ProblemList } from "./problem-list.ts";
import type { ProofDocuments } from "./proof-documents.ts";

/** A sequence walked through the model of its board. */
export interface ModelledProof {
  readonly logic: BoardLogic;
  readonly walk: SequenceWalk;
  /** Nets that the rig reads and the board's stages drive. */
  readonly read: readonly string[];
}

export interface ProofSteps {
  readonly pass: readonly PlacedStep[];
  readonly cycle: readonly PlacedStep<PatternStep>[];
}

/** The steps of a sequence, with what the model makes of them. Files need not agree with each other. */
export function modelProof(documents: ProofDocuments, { pass, cycle }: ProofSteps): ModelledProof {
  const { board, rig, sequence } = documents;
  const logic = boardLogic(board.value);
  const walk = walkSequence({
    circuit: compileCircuit(logic.netlist),
    exercise: sequence.value.warmUp.exercise,
    steps: pass,
    cycle,
    powerCycles: sequence.value.soak?.power !== undefined,
    atRest: linesAtRest(documents, logic.lines),
  });
  const driven = new Set(logic.netlist.outputs);
  const read = rig.value.channels.flatMap((channel) =>
    "net" in channel && driven.has(channel.net) ? [channel.net] : [],
  );
  return { logic, walk, read };
}

/** Levels of the board's lines with every contact released; a line the rig does not drive is missing. */
export function linesAtRest(
  { rig }: Pick<ProofDocuments, "rig">,
  lines: readonly string[],
): LineLevels {
  const states = new LineStates(rig.value);
  return Object.fromEntries(
    lines.flatMap((line) => {
      const level = states.level(line);
      return level === undefined ? [] : [[line, level] as const];
    }),
  );
}

/** Steps of a pass and a cycle with every expectation there is; problems where there is none to be had. */
export function fillExpected(
  documents: ProofDocuments,
  steps: ProofSteps,
  problems: ProblemList,
): ProofSteps {
  const all: readonly PlacedStep[] = [...steps.pass, ...steps.cycle];
  if (!all.some(isOpen)) return steps;
  const model = modelProof(documents, steps);
  const filler = new Filler(documents, model, problems);
  const pass = steps.pass.map((placed) => filler.fill(placed, model.walk.pass));
  const cycle = steps.cycle.map((placed) => filler.fill(placed, model.walk.cycle));
  // The cycle's steps are patterns, and filling leaves them so.
  return {
    pass,
    cycle: cycle.flatMap(({ step, ...at }) => (isPattern(step) ? [{ step, ...at }] : [])),
  };
}

function isPattern(step: PlannedStep): step is PatternStep {
  return step.kind === "pattern";
}

function isOpen({ step, unchanged }: PlacedStep): boolean {
  return unchanged === true || isModelled(step);
}

/** Whether the model is to fill in, or has filled in, a class of this step. */
export function isModelled(step: PlannedStep): boolean {
  return step.modelled === true || (step.kind === "hold" && step.flip.modelled === true);
}

class Filler {
  readonly #documents: ProofDocuments;
  readonly #model: ModelledProof;
  readonly #problems: ProblemList;
  readonly #stops: ReadonlyMap<number, Walked>;
  #before: ExpectedClasses | null = null;
  #beforeModelled = false;

  constructor(documents: ProofDocuments, model: ModelledProof, problems: ProblemList) {
    this.#documents = documents;
    this.#model = model;
    this.#problems = problems;
    this.#stops = model.walk.byPlace;
  }

  fill<S extends PlannedStep>({ step, path, unchanged }: PlacedStep<S>, walk: readonly Walked[]) {
    const walked = walk.filter(({ stop }) => stop.step === step.index && stop.expectPath !== null);
    const filled = { ...step };
    if (unchanged === true) this.#keep(filled, path);
    else if (step.modelled === true) {
      const at = walked.filter(({ stop }) => !stop.flip);
      Object.assign(filled, { expect: this.#classes(at, [...path, "expect"], path) });
    }
    if (step.kind === "hold" && step.flip.modelled === true) {
      const at = walked.filter(({ stop }) => stop.flip);
      const flipPath = [...path, "flip"];
      const expect = this.#classes(at, [...flipPath, "expect"], flipPath);
      Object.assign(filled, { flip: { ...step.flip, expect } });
    }
    const last: PlannedStep = filled;
    this.#before = last.kind === "hold" ? last.flip.expect : last.expect;
    this.#beforeModelled = (last.kind === "hold" ? last.flip.modelled : last.modelled) === true;
    return { step: filled, path };
  }

  #keep(step: PlannedStep, path: ValuePath): void {
    if (this.#before === null) {
      this.#problems.add(this.#documents.sequence, [...path, "unchanged"], {
        code: "EXPECTATION_UNKNOWN",
        part: "key",
        reason: "there is no step before this one",
        whatToDo: "write `expect:`, or leave both out for the model to fill in",
      });
      return;
    }
    Object.assign(step, { expect: this.#before }, this.#beforeModelled ? { modelled: true } : {});
  }

  /** Classes that stand at every one of these stops. */
  #classes(stops: readonly Walked[], expectPath: ValuePath, path: ValuePath): ExpectedClasses {
    const { walk, read } = this.#model;
    const [first, ...rest] = stops.map((one) => classesAt(walk.circuit, one, read));
    const standing = Object.entries(first ?? {}).filter(([net, level]) =>
      rest.every((other) => other[net] === level),
    );
    if (standing.length > 0) return Object.fromEntries(standing);
    this.#problems.add(this.#documents.sequence, path, {
      code: "EXPECTATION_UNKNOWN",
      part: "key",
      reason: this.#whyNone(stops[0]),
      whatToDo: `write \`${expectPath.at(-1)}:\` by hand, or drive the lines so that it is known`,
    });
    return {};
  }

  #whyNone(walked: Walked | undefined): string {
    const { walk, read, logic } = this.#model;
    const { circuit } = walk;
    const nets = read.map((name) => circuit.netOf.get(name) ?? -1);
    const net = nets.find((one) => walked?.levels[one] === UNKNOWN);
    if (walked === undefined || net === undefined)
      return "no net that the rig reads is driven by a stage that stands still here";
    const { unknownNets } = logic;
    const cause = causeOf({ circuit, walked, net, stops: this.#stops, unknownNets });
    return `the model knows none of the nets the rig reads here; ${circuit.nets[net]}: ${causeText(cause)}`;
  }
}

/** Steps of a sequence with every class there is to be had, for a proof that resolves. */
export function filledSteps(documents: ProofDocuments): ProofSteps {
  const written = { pass: flattenSteps(documents.sequence.value), cycle: cycleOf(documents) };
  return fillExpected(documents, written, new ProblemList());
}

/** Steps of a soak's cycle, as the files have them. */
export function cycleOf({ sequence }: Pick<ProofDocuments, "sequence">): PlacedStep<PatternStep>[] {
  const { soak } = sequence.value;
  return soak === undefined ? [] : soakSteps(soak);
}
