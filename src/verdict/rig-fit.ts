/**
 * Which faults explain what a rig read in the states of its relays: the one that explains most, then
 * what explains most of the rest, until all is explained or nothing helps.
 */
import type { RailName } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import type { RigLook } from "../events/rig-check.ts";
import { channelVolts } from "../measure/channel-scale.ts";
import { leadChannels, type ModelFault, RigModel } from "./rig-model.ts";
import { referenceFactor } from "./rig-reference.ts";
import { type Suspect, suspectsOf } from "./rig-suspects.ts";

export interface Explanation {
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

/** Converter steps, and part of what stands above 0 V, that a sound channel may be off. */
const TOLERANCE = { steps: 3, part: 0.04 };
/** A cell that is wrong by far counts no more than one that is wrong by this many tolerances. */
const MISFIT_MAX = 3;
const FAULTS_MAX = 4;
/** A fault has to take this much misfit away, and this part of it. */
const GAIN_MIN = { misfit: 2, part: 0.25 };
/** Faults whose misfits differ by less cannot be told apart. */
const SAME_MISFIT = 1;
/** A fault with a value in it fits more than one without: it must do better by this. */
const FITTED_PENALTY = 0.5;
const ALTERNATIVES_MAX = 4;

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

class Fit {
  readonly #model: RigModel;
  readonly #looks: readonly RigLook[];
  readonly #zero: ReadonlyMap<string, number>;
  readonly #suspects: readonly Suspect[];
  readonly #part: number;
  #faults: readonly ModelFault[] = [];

  constructor(plan: Plan, looks: readonly RigLook[], unread: ReadonlySet<string>) {
    // A reference that is measured is allowed for in every reading, here too.
    const factor = referenceFactor(looks[0]?.codes ?? {}, plan);
    if (factor !== 1) this.#faults = [{ kind: "reference", factor }];
    this.#model = new RigModel(plan, suppliesOf(plan, looks, factor));
    this.#looks = looks.map((look) => ({
      ...look,
      codes: Object.fromEntries(
        Object.entries(look.codes).filter(([channel]) => !unread.has(channel)),
      ),
    }));
    this.#zero = new Map(
      leadChannels(plan).map(({ name, divider: { topOhm, bottomOhm, pullUpOhm } }) => {
        const pullUp = pullUpOhm === null ? 0 : 1 / pullUpOhm;
        return [name, (1024 * pullUp) / (pullUp + 1 / topOhm + 1 / bottomOhm)] as const;
      }),
    );
    this.#suspects = suspectsOf(plan);
    this.#part = TOLERANCE.part + partsPart(plan);
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
    if (gained < GAIN_MIN.misfit || gained < GAIN_MIN.part * before) return null;
    const shown = this.unexplained();
    this.#faults = [...this.#faults, best.fault];
    const left = this.unexplained();
    const limit = best.misfit + best.penalty + SAME_MISFIT;
    const orElse = tried
      .slice(1, 1 + ALTERNATIVES_MAX)
      .filter(({ misfit, penalty }) => misfit + penalty < limit)
      .map(({ fault }) => fault);
    const isLeft = ({ channel, look }: Unexplained): boolean =>
      left.some((one) => one.channel === channel && one.look === look);
    return { fault: best.fault, orElse, shown: mostTelling(shown.filter((one) => !isLeft(one))) };
  }

  unexplained(): Unexplained[] {
    return this.#looks.flatMap((look) => {
      const expected = this.#model.codes(look.state, this.#faults);
      return Object.entries(look.codes).flatMap(([channel, code]): Unexplained[] => {
        const wanted = expected.get(channel);
        if (wanted === undefined || this.#off(channel, code, wanted) <= 1) return [];
        return [{ channel, look, code, expected: wanted }];
      });
    });
  }

  #try({ at, range }: Suspect): Tried {
    const misfitAt = (value: number): number => this.#misfit([...this.#faults, at(value)]);
    if (range === null) return { fault: at(0), misfit: misfitAt(0), penalty: 0 };
    let best = range.from;
    let misfit = Number.POSITIVE_INFINITY;
    for (let value = range.from; value <= range.to; value *= range.ratio) {
      const found = misfitAt(value);
      if (found < misfit) [best, misfit] = [value, found];
    }
    return { fault: at(best), misfit, penalty: FITTED_PENALTY };
  }

  #misfit(faults: readonly ModelFault[]): number {
    let misfit = 0;
    for (const { state, codes } of this.#looks) {
      const expected = this.#model.codes(state, faults);
      for (const [channel, code] of Object.entries(codes)) {
        const wanted = expected.get(channel);
        if (wanted !== undefined) {
          misfit += Math.min(MISFIT_MAX, this.#off(channel, code, wanted)) ** 2;
        }
      }
    }
    return misfit;
  }

  /** How far a code is off, in tolerances. */
  #off(channel: string, code: number, expected: number): number {
    const above = Math.abs(expected - (this.#zero.get(channel) ?? 0));
    return Math.abs(code - expected) / (TOLERANCE.steps + this.#part * above);
  }
}

/** Dividers that are not calibrated are as good as their parts: top and bottom may differ. */
function partsPart({ accuracy, calibration }: Plan): number {
  return calibration === undefined ? 2 * (accuracy?.resistorPart ?? 0) : 0;
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
