/**
 * A board that is solved in full only where something new happens. What is seen once, that switching
 * leads from one settled state to another, is kept; from then on the state alone is solved, as it
 * stands at the end of a stretch of slow time, and within the stretch every node moves in a straight
 * line. A latch stays what it is, because each solution goes on from the one before it; where that
 * one ceases to exist or is not stable any more, the board is given back to its transient.
 *
 * Left out of what is kept: bounce, and a race that runs otherwise another time.
 */
import type { BoardModel } from "../circuit/board-model.ts";
import { ImplicitStep } from "../circuit/implicit-step.ts";
import { Transient } from "../circuit/transient.ts";
import { KeptHeat } from "./kept-heat.ts";
import { apartV, type KeptState, KeptStates } from "./kept-state.ts";

/** A step this long leaves nothing in any capacitor. */
const SETTLED_S = 1e5;
/** Longest step of the transient: cathodes warm with a lag of ten seconds. */
const STEP_S_MAX = 0.2;
/** Shortest and longest stretch of slow time. */
const STRETCH_S_MIN = 0.05;
const STRETCH_S_MAX = 60;
/** What may move within a stretch: share of full emission; a wire's temperature, of the rated one. */
const SHARE_MAX = 0.01;
const WIRE_MAX = 0.05;
/** States not used for so long are not kept up to date. */
const IDLE_S = 90;
/** A solution farther away than this is another state. */
const LOST_V = 5;
/** What is seen counts while no section's emission and no supply has moved farther. */
const EMISSION_ALIKE = 0.2;
const SUPPLY_ALIKE = 0.03;
/** Knowledge is kept for so many sets of circumstances, such as a joint that comes and goes. */
const CIRCUMSTANCES_MAX = 8;

export interface KeptBoardParts {
  readonly model: BoardModel;
  /** Bits of the contacts that stand before rails. */
  readonly railMask: number;
  /** Put contacts where this mask has them, on the model. */
  readonly place: (mask: number) => void;
  /**
   * Set what moves slowly to where it is at a moment; when another moment is given, what is not the
   * board's own comes there from it in a straight line. Seconds.
   */
  readonly slow: (seconds: number, fromS: number | null) => void;
  /** No stretch goes beyond the next moment at which something happens to the board. Seconds. */
  readonly nextHappeningS: () => number;
}

export class KeptBoard {
  readonly transient: Transient;
  readonly #model: BoardModel;
  readonly #railMask: number;
  readonly #place: KeptBoardParts["place"];
  readonly #slow: KeptBoardParts["slow"];
  readonly #nextHappeningS: () => number;
  readonly #equations: ImplicitStep;
  readonly #heat: KeptHeat;
  readonly #known = new Map<string, KeptStates>();
  readonly #volts: Float64Array;
  readonly #trial: Float64Array;
  #states = new KeptStates();
  #state: KeptState | null = null;
  #beginS = 0;
  #endS = 0;
  #perStretch = 1 / STRETCH_S_MIN;
  /** Length of the next stretch. */
  #stretchS = STRETCH_S_MIN;
  #learning: {
    readonly from: KeptState;
    readonly mask: number;
    readonly seenAt: Float64Array;
  } | null = null;

  constructor({ model, railMask, place, slow, nextHappeningS }: KeptBoardParts) {
    this.#nextHappeningS = nextHappeningS;
    this.#railMask = railMask;
    this.#model = model;
    this.#place = place;
    this.#slow = slow;
    this.transient = new Transient(model, STEP_S_MAX);
    this.#equations = new ImplicitStep(model);
    this.#heat = new KeptHeat(model);
    this.#volts = new Float64Array(model.size + 1);
    this.#trial = new Float64Array(model.size + 1);
    this.#known.set("", this.#states);
  }

  /** Whether the board stands in a state that is kept, and not on a step of its transient. */
  get isKept(): boolean {
    return this.#state !== null;
  }

  /** What is solved holds from here to `endS`. */
  get beginS(): number {
    return this.#state === null ? this.transient.beginS : this.#beginS;
  }

  get endS(): number {
    return this.#state === null ? this.transient.endS : this.#endS;
  }

  /** Contacts that are operated in the state that is kept; 0 without one. */
  get mask(): number {
    return this.#state?.mask ?? 0;
  }

  /** See `NodeVolts`: nothing is promised of a board that its transient moves. */
  get straightUntilS(): number {
    return this.#state === null ? Number.NEGATIVE_INFINITY : this.#endS;
  }

  voltsAt(node: number, seconds: number): number {
    const state = this.#state;
    if (state === null) return this.transient.voltsAt(node, seconds);
    const share = (seconds - this.#beginS) * this.#perStretch;
    const fromV = state.from[node] as number;
    if (share <= 0) return fromV;
    return fromV + Math.min(share, 1) * ((state.to[node] as number) - fromV);
  }

  /** Other circumstances, such as a part at fault: what was seen under the old ones does not count. */
  under(circumstances: string): void {
    const states = this.#known.get(circumstances) ?? new KeptStates();
    // Newest last, so that the first is the one not wanted for longest.
    this.#known.delete(circumstances);
    this.#known.set(circumstances, states);
    const [oldest] = this.#known.keys();
    if (this.#known.size > CIRCUMSTANCES_MAX && oldest !== undefined) this.#known.delete(oldest);
    this.#states = states;
    this.#learning = null;
  }

  /** Contacts are about to be put where this mask has them; what comes of it is to be kept. */
  watch(mask: number | null): void {
    const from = this.#state;
    this.#learning = from === null || mask === null ? null : { from, mask, seenAt: this.#alike() };
  }

  /** Whether it is known where switching to this mask leads. */
  knows(mask: number): boolean {
    return this.#passage(mask) !== null;
  }

  /** Contacts stand as this mask has them from now on. False: it is not known what follows. */
  switchTo(mask: number, seconds: number): boolean {
    const from = this.#state;
    const to = this.#passage(mask);
    if (from === null || to === null) return false;
    if (to.solvedS !== this.#endS && !this.#solve(to, this.#endS)) {
      this.#place(from.mask);
      return false;
    }
    // Of the rails' contacts the pins before them know by the model; lines are nodes like any other.
    if (((from.mask ^ mask) & this.#railMask) !== 0) this.#place(mask);
    to.usedS = seconds;
    this.#state = to;
    return true;
  }

  /** Give the board back to its transient at a moment of the present stretch. */
  release(seconds: number): void {
    const state = this.#state;
    if (state === null) return;
    const atS = Math.max(seconds, this.#beginS);
    this.#place(state.mask);
    for (let node = 0; node < this.#model.size; node += 1) {
      this.#volts[node] = this.voltsAt(node, atS);
    }
    this.#heat.putBack();
    this.#slow(atS, null);
    this.#model.heat(this.#volts, atS - this.#beginS);
    this.#state = null;
    this.transient.standAt(atS, this.#volts);
  }

  /**
   * Keep the state in which the transient has come to rest at the end of its step.
   *
   * @param toleranceV how far any node may still be from where it goes
   * @returns whether it has come to rest
   */
  settle(mask: number, toleranceV: number): boolean {
    const nowS = this.transient.endS;
    this.transient.copyEnd(this.#volts);
    this.#trial.set(this.#volts);
    this.#slow(nowS, null);
    this.#equations.refresh();
    if (this.#equations.solve(SETTLED_S, this.#volts, this.#trial) !== 1) return false;
    if (apartV(this.#trial, this.#volts) > toleranceV) return false;
    const state = this.#states.at(mask, this.#trial, nowS);
    const learning = this.#learning;
    if (learning?.mask === mask) this.#states.learn(learning.from, state, learning.seenAt);
    this.#learning = null;
    this.#state = state;
    this.#endS = nowS;
    this.#stretchS = STRETCH_S_MIN;
    this.extend();
    return this.#state !== null;
  }

  /** Go on by one stretch from `endS`. A state that ceases to exist is given back to the transient. */
  extend(): void {
    const state = this.#state;
    if (state === null) return;
    this.#beginS = this.#endS;
    this.#warm(state);
    for (const other of this.#states.usedSince(this.#beginS - IDLE_S)) {
      if (other !== state && !this.#solve(other, this.#endS)) this.#states.forget(other);
    }
    if (this.#solve(state, this.#endS)) {
      this.#place(state.mask);
      state.usedS = this.#endS;
      return;
    }
    this.#place(state.mask);
    state.to.set(state.from);
    this.release(this.#beginS);
    this.#states.forget(state);
  }

  /** Let heaters and what moves slowly come to the end of a stretch in which they move little. */
  #warm(state: KeptState): void {
    this.#heat.keep();
    const untilHappeningS = this.#nextHappeningS() - this.#beginS;
    const mostS = untilHappeningS > 0 ? untilHappeningS : STRETCH_S_MIN;
    let stretchS = Math.min(mostS, this.#stretchS);
    for (; ; stretchS = Math.max(STRETCH_S_MIN, stretchS / 2)) {
      this.#endS = this.#beginS + stretchS;
      this.#slow(this.#endS, this.#beginS);
      this.#model.heat(state.to, stretchS);
      const { share, wire } = this.#heat.moved();
      const moved = Math.max(share / SHARE_MAX, wire / WIRE_MAX);
      if (moved <= 1 || stretchS <= STRETCH_S_MIN) {
        this.#perStretch = 1 / stretchS;
        this.#stretchS = moved < 0.4 ? Math.min(STRETCH_S_MAX, 2 * stretchS) : stretchS;
        return;
      }
      this.#heat.putBack();
    }
  }

  /** Solve a state for the end of the present stretch. False: it does not exist there. */
  #solve(state: KeptState, endS: number): boolean {
    const isFresh = endS - state.solvedS <= 2 * IDLE_S;
    this.#place(state.mask);
    this.#equations.refresh();
    this.#trial.set(state.to);
    const sign = this.#equations.solve(SETTLED_S, state.to, this.#trial);
    if (sign !== 1 || apartV(this.#trial, state.to) > LOST_V) return false;
    // What was not looked at for long has no line to come along.
    state.from.set(isFresh ? state.to : this.#trial);
    state.to.set(this.#trial);
    state.solvedS = endS;
    return true;
  }

  #passage(mask: number): KeptState | null {
    const passage = this.#state === null ? undefined : this.#states.passage(this.#state, mask);
    if (passage === undefined || passage.to.lost) return null;
    if (passage.comparedS !== this.#endS) {
      passage.comparedS = this.#endS;
      passage.isAlike = this.#isAlike(passage.seenAt);
    }
    return passage.isAlike ? passage.to : null;
  }

  /** What decides where switching leads: what each section can give, and each supply's volts. */
  #alike(): Float64Array {
    const { triodes, branches } = this.#model;
    const supplies = branches.filter(({ name }) => name.startsWith("supply."));
    return Float64Array.from([
      ...triodes.map(({ current }) => current),
      ...supplies.map(({ emfV }) => emfV),
    ]);
  }

  #isAlike(seenAt: Float64Array): boolean {
    const sections = this.#model.triodes.length;
    return this.#alike().every((value, index) => {
      const seen = seenAt[index] ?? Number.NaN;
      const allowed = index < sections ? EMISSION_ALIKE : SUPPLY_ALIKE * Math.abs(seen);
      return Math.abs(value - seen) <= allowed;
    });
  }
}
