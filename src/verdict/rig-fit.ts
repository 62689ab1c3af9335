/**
 * Which faults explain what a rig read in the states of its relays: the one that explains most, then
 * what explains most of the rest, until all is explained or nothing helps.
 */
import type { RailName } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import type { RigLook } from "../events/rig-check.ts";
import { channelVolts } from "../measure/channel-scale.ts";
import { CODE_MAX, CODES } from "../measure/divider.ts";
import { leadChannels, type ModelFault, RigModel } from "./rig-model.ts";
import { referenceFactor } from "./rig-reference.ts";
import { type FitRange, type Suspect, suspectsOf } from "./rig-suspects.ts";

interface Explanation {
  readonly fault: ModelFault;
  /** Other faults that would have given the same readings. */
  readonly orElse: readonly ModelFault[];
  /** What it explains, most telling first; at most a few. */
  readonly shown: readonly Unexplained[];
}

/** A channel in a state that reads neither as it should nor as any fault explains. */
export interface Unexplained {
  readonly channel: string;
  readonly look: RigLook;
  readonly code: number;
  readonly expected: number;
}

export interface RigFit {
  readonly explanations: readonly Explanation[];
  readonly unexplained: readonly Unexplained[];
}

/**
 * What a sound channel may be off: by a gain of its own, the same in every state, and beyond it by
 * converter steps and a part of what stands above 0 V. Resistors of plug and loads add theirs.
 */
const GAIN_PART = 0.04;
const TOLERANCE = { steps: 3, part: 0.008, loadPart: 0.05 };
/**
 * Of two explanations one is better by what it leaves over: about the square of it in this part of a
 * tolerance, half a step, and ever less of it beyond the square root of FAR.
 */
const SHARP = 0.16;
const FAR = 8;
const FAULTS_MAX = 4;
/** A fault has to take this much misfit away, and this part of it. */
const GAINED_MIN = { misfit: 8, part: 0.15 };
/** Faults whose misfits differ by less cannot be told apart. */
const SAME_MISFIT = 3;
const ALTERNATIVES_MAX = 3;
/** Values of a fitted fault: tried this far apart first, then halved in steps. */
const COARSE_RATIO = 1.25;
const REFINEMENTS = 8;
/** The converter truncates: a mean code stands half a step below its volts. */
const TRUNCATED = 0.5;

/** @param unread channels whose codes are evidence of nothing, such as floating ones */
export function fitRig(plan: Plan, looks: readonly RigLook[], unread: ReadonlySet<string>): RigFit {
  const fit = new Fit(plan, looks, unread);
  const explanations: Explanation[] = [];
  while (explanations.length < FAULTS_MAX && fit.isOff()) {
    const next = fit.explainOneMore();
    if (next === null) break;
    explanations.push(next);
  }
  return { explanations, unexplained: fit.unexplained() };
}

interface Tried {
  readonly fault: ModelFault;
  readonly misfit: number;
  readonly penalty: number;
}

/** One reading beside what is expected, both from the code at 0 V. */
interface Cell {
  readonly channel: string;
  readonly look: RigLook;
  readonly code: number;
  readonly expected: number;
  readonly above: number;
  readonly expectedAbove: number;
  readonly tolerance: number;
}

class Fit {
  readonly #model: RigModel;
  readonly #looks: readonly RigLook[];
  readonly #zero: ReadonlyMap<string, number>;
  readonly #suspects: readonly Suspect[];
  readonly #gainPart: number;
  readonly #loadOf: ReadonlyMap<string, string>;
  readonly #channels: readonly string[];
  #faults: readonly ModelFault[] = [];

  constructor(plan: Plan, looks: readonly RigLook[], unread: ReadonlySet<string>) {
    // A reference that is measured is allowed for in every reading, here too.
    const factor = referenceFactor(looks[0]?.codes ?? {}, plan);
    if (factor !== 1) this.#faults = [{ kind: "reference", factor }];
    this.#model = new RigModel(plan, suppliesOf(plan, looks, factor));
    this.#looks = looks;
    const channels = leadChannels(plan);
    this.#channels = channels.map(({ name }) => name).filter((name) => !unread.has(name));
    this.#zero = new Map(
      channels.map(({ name, divider: { topOhm, bottomOhm, pullUpOhm } }) => {
        const pullUp = pullUpOhm === null ? 0 : 1 / pullUpOhm;
        return [name, (CODES * pullUp) / (pullUp + 1 / topOhm + 1 / bottomOhm)] as const;
      }),
    );
    this.#suspects = suspectsOf(plan);
    this.#gainPart = GAIN_PART + partsPart(plan);
    this.#loadOf = new Map(
      plan.lines.flatMap(({ line, load }) => (load === undefined ? [] : [[load.net, line]])),
    );
  }

  isOff(): boolean {
    return this.unexplained().length > 0;
  }

  explainOneMore(): Explanation | null {
    const before = this.#misfit(this.#faults);
    const tried = this.#suspects
      .map((suspect) => this.#try(suspect))
      .sort((a, b) => a.misfit + a.penalty - (b.misfit + b.penalty));
    const [best] = tried;
    if (best === undefined) return null;
    const gained = before - best.misfit;
    if (gained < GAINED_MIN.misfit || gained < GAINED_MIN.part * before) return null;
    const shown = this.unexplained();
    this.#faults = [...this.#faults, best.fault];
    const left = this.unexplained();
    const limit = best.misfit + best.penalty + SAME_MISFIT;
    const orElse = tried
      .slice(1)
      .filter(({ misfit, penalty }) => misfit + penalty < limit)
      // A gain explains any channel that is off in one state; it is no name beside one that says why.
      .filter(({ fault }) => fault.kind !== "gain")
      .slice(0, ALTERNATIVES_MAX)
      .map(({ fault }) => fault);
    const isLeft = ({ channel, look }: Unexplained): boolean =>
      left.some((one) => one.channel === channel && one.look === look);
    return { fault: best.fault, orElse, shown: mostTelling(shown.filter((one) => !isLeft(one))) };
  }

  unexplained(): Unexplained[] {
    return this.#cells(this.#faults)
      .filter((cell) => offBy(cell) > 1)
      .map(({ channel, look, code, expected }) => ({ channel, look, code, expected }));
  }

  #try({ at, range, penalty }: Suspect): Tried {
    const misfitAt = (value: number): number => this.#misfit([...this.#faults, at(value)]);
    if (range === null) return { fault: at(0), misfit: misfitAt(0), penalty };
    const { value, misfit } = lowest(misfitAt, range);
    return { fault: at(value), misfit, penalty };
  }

  #misfit(faults: readonly ModelFault[]): number {
    return this.#cells(faults).reduce(
      (sum, cell) => sum + FAR * Math.log1p((offBy(cell) / SHARP) ** 2 / FAR),
      0,
    );
  }

  /** Every reading beside what these faults make of it, each channel's own gain taken out. */
  #cells(faults: readonly ModelFault[]): Cell[] {
    const expected = this.#looks.map(({ state }) => this.#model.codes(state, faults));
    return this.#channels.flatMap((channel) => {
      const zero = this.#zero.get(channel) ?? 0;
      const cells = this.#looks.flatMap((look, at): Cell[] => {
        const [code, wanted] = [look.codes[channel], expected[at]?.get(channel)];
        if (code === undefined || wanted === undefined) return [];
        const isEnd = code < 1 || code >= CODE_MAX;
        return [
          {
            channel,
            look,
            code,
            expected: wanted,
            above: code + (isEnd ? 0 : TRUNCATED) - zero,
            expectedAbove: wanted - zero,
            tolerance: this.#tolerance(channel, look, wanted - zero),
          },
        ];
      });
      const gain = this.#ownGain(cells);
      return cells.map((cell) => ({ ...cell, expectedAbove: gain * cell.expectedAbove }));
    });
  }

  /** By least squares, inside what a divider and its source may be off. */
  #ownGain(cells: readonly Cell[]): number {
    let [both, own] = [0, 0];
    for (const { above, expectedAbove, tolerance } of cells) {
      both += (above * expectedAbove) / tolerance ** 2;
      own += expectedAbove ** 2 / tolerance ** 2;
    }
    if (own === 0) return 1;
    return Math.min(1 + this.#gainPart, Math.max(1 - this.#gainPart, both / own));
  }

  #tolerance(channel: string, { state }: RigLook, above: number): number {
    const load = this.#loadOf.get(channel);
    const isLoaded = load !== undefined && state.operated.includes(load);
    const part = TOLERANCE.part + (isLoaded ? TOLERANCE.loadPart : 0);
    return TOLERANCE.steps + part * Math.abs(above);
  }
}

/** How far a reading is off, in tolerances. */
function offBy({ above, expectedAbove, tolerance }: Cell): number {
  return Math.abs(above - expectedAbove) / tolerance;
}

/** Where a function of a positive value is lowest, by ever finer steps around the best so far. */
function lowest(
  of: (value: number) => number,
  { from, to }: FitRange,
): { readonly value: number; readonly misfit: number } {
  let best = { value: from, misfit: of(from) };
  const consider = (value: number): void => {
    if (value < from || value > to) return;
    const misfit = of(value);
    if (misfit < best.misfit) best = { value, misfit };
  };
  for (let value = from * COARSE_RATIO; value <= to; value *= COARSE_RATIO) consider(value);
  let ratio = COARSE_RATIO;
  for (let turn = 0; turn < REFINEMENTS; turn += 1) {
    ratio = Math.sqrt(ratio);
    const { value } = best;
    consider(value * ratio);
    consider(value / ratio);
  }
  return best;
}

const SHOWN_MAX = 3;

/** Of each channel the state in which it is furthest from what it should read. */
function mostTelling(cells: readonly Unexplained[]): Unexplained[] {
  const far = ({ code, expected }: Unexplained): number => Math.abs(code - expected);
  const byChannel = new Map<string, Unexplained>();
  for (const cell of cells) {
    const known = byChannel.get(cell.channel);
    if (known === undefined || far(cell) > far(known)) byChannel.set(cell.channel, cell);
  }
  return [...byChannel.values()].sort((a, b) => far(b) - far(a)).slice(0, SHOWN_MAX);
}

/** Dividers that are not calibrated are as good as their parts: top and bottom may differ. */
function partsPart({ accuracy, calibration }: Plan): number {
  return calibration === undefined ? 2 * (accuracy?.resistorPart ?? 0) : 0;
}

/** Supplies as they read before anything is switched; as the files say where that cannot be right. */
function suppliesOf(plan: Plan, looks: readonly RigLook[], factor: number): Map<RailName, number> {
  const supplies = new Map<RailName, number>();
  for (const { rail, sourceChannel, window, nominalV } of plan.rails) {
    const channel = plan.channels.find(({ name }) => name === sourceChannel);
    const code = looks[0]?.codes[sourceChannel];
    const volts =
      channel === undefined || code === undefined
        ? nominalV
        : channelVolts(code, { ...channel, referenceV: channel.referenceV * factor });
    const isInside = volts >= window.lowV && volts <= window.highV;
    supplies.set(rail, isInside ? volts : nominalV);
  }
  return supplies;
}
