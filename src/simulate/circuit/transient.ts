/**
 * The board in time. It always stands on one accepted step, from `beginS` to `endS`, and answers
 * for any moment in it. After a change the steps begin small and grow until the board is still or
 * only slow things move: rails, cathodes.
 *
 * A latch has a state, so nothing is ever solved from nothing: every step goes on from the volts
 * before it. A state that is not stable must be left, and backward Euler with a long step would sit
 * on it for ever; a step is short enough to leave it exactly when the determinant of its equations
 * is positive, so a negative one is refused like a large error.
 */
import type { BoardModel } from "./board-model.ts";
import { ImplicitStep } from "./implicit-step.ts";

/**
 * Largest error of one step at any node while volts move; at rest it vanishes. Backward Euler errs to
 * the late side, so that a falling rail reads high rather than low.
 */
const TOLERANCE_V = 0.08;
const STEP_S_MIN = 1e-9;
const STEP_S_FIRST = 5e-8;
/** Cathodes move while the board stands still; a step no longer than this sees them move. */
const STEP_S_MAX = 0.02;
const GROWTH_MAX = 4;
const TRIES_MAX = 60;

export class Transient {
  readonly model: BoardModel;
  readonly #equations: ImplicitStep;
  readonly #stepSMax: number;
  /** Volts at begin and end of the present step; common is the last entry. */
  readonly #begin: Float64Array;
  readonly #end: Float64Array;
  readonly #trial: Float64Array;
  #beginS = 0;
  #endS = 0;
  #wantedS = STEP_S_FIRST;
  /** Steps since the last change; the first two have no slope to extrapolate. */
  #smoothSteps = 0;
  /** Steps taken since the start, for measuring cost. */
  stepCount = 0;

  /** @param stepSMax no step is longer; cathodes are warmed step by step */
  constructor(model: BoardModel, stepSMax = STEP_S_MAX) {
    this.model = model;
    this.#stepSMax = stepSMax;
    this.#equations = new ImplicitStep(model);
    this.#begin = new Float64Array(model.size + 1);
    this.#end = new Float64Array(model.size + 1);
    this.#trial = new Float64Array(model.size + 1);
  }

  get beginS(): number {
    return this.#beginS;
  }

  get endS(): number {
    return this.#endS;
  }

  beginV(node: number): number {
    return this.#begin[node] as number;
  }

  endV(node: number): number {
    return this.#end[node] as number;
  }

  /** Volts of a node at a moment of the present step. */
  voltsAt(node: number, seconds: number): number {
    const from = this.#begin[node] as number;
    const length = this.#endS - this.#beginS;
    if (length <= 0) return this.#end[node] as number;
    const share = Math.min(1, Math.max(0, (seconds - this.#beginS) / length));
    return from + share * ((this.#end[node] as number) - from);
  }

  /** Values have changed at `endS`: begin anew with a short step from the present volts. */
  disturb(): void {
    this.#wantedS = STEP_S_FIRST;
    this.#smoothSteps = 0;
    this.#equations.refresh();
  }

  /** Go on from these volts at this moment, whatever was before. */
  standAt(seconds: number, volts: Float64Array): void {
    this.#begin.set(volts);
    this.#end.set(volts);
    this.#beginS = seconds;
    this.#endS = seconds;
    this.disturb();
  }

  /** Volts at the end of the present step; common is the last entry. */
  copyEnd(into: Float64Array): void {
    into.set(this.#end);
  }

  /** Let the present step end earlier, because something will happen at that moment. */
  cutAt(seconds: number): void {
    if (seconds >= this.#endS || seconds < this.#beginS) return;
    for (let node = 0; node < this.model.size; node += 1) {
      this.#end[node] = this.voltsAt(node, seconds);
    }
    this.#endS = seconds;
  }

  /**
   * Go on by one step from `endS`, no farther than to `limitS`.
   *
   * @throws RangeError when the equations have no solution even for the shortest step
   */
  step(limitS: number): void {
    const { model } = this;
    const lastS = this.#endS - this.#beginS;
    if (lastS > 0) {
      model.heat(this.#end, lastS);
      if (lastS > STEP_S_MAX / 100) this.#equations.refresh();
    }
    let seconds = Math.min(this.#wantedS, this.#stepSMax, limitS - this.#endS);
    for (let attempt = 0; attempt < TRIES_MAX; attempt += 1) {
      this.#guess(seconds, lastS);
      const sign = this.#equations.solve(seconds, this.#end, this.#trial);
      const last = seconds <= STEP_S_MIN;
      if (sign === 0 || (sign < 0 && !last)) {
        if (last) break;
        seconds = Math.max(STEP_S_MIN, seconds / 4);
        continue;
      }
      const errorV = this.#smoothSteps < 2 ? 0 : this.#errorV(seconds, lastS);
      if (errorV > 2 * TOLERANCE_V && !last) {
        seconds = Math.max(
          STEP_S_MIN,
          seconds * Math.max(0.2, 0.8 * Math.sqrt(TOLERANCE_V / errorV)),
        );
        continue;
      }
      this.#accept(seconds, errorV);
      return;
    }
    throw new RangeError(
      `The circuit has no solution ${this.#endS} s after the start. Look for parts without a path to common.`,
    );
  }

  /** A straight line through the last step; without one, the volts as they are. */
  #guess(seconds: number, lastS: number): void {
    const { size } = this.model;
    const ratio = this.#smoothSteps < 2 || lastS <= 0 ? 0 : seconds / lastS;
    for (let node = 0; node < size; node += 1) {
      const now = this.#end[node] as number;
      this.#trial[node] = now + ratio * (now - (this.#begin[node] as number));
    }
  }

  /** Distance from the straight line, scaled to the error of backward Euler. */
  #errorV(seconds: number, lastS: number): number {
    const ratio = seconds / lastS;
    let largest = 0;
    for (let node = 0; node < this.model.size; node += 1) {
      const now = this.#end[node] as number;
      const guess = now + ratio * (now - (this.#begin[node] as number));
      const off = Math.abs((this.#trial[node] as number) - guess);
      if (off > largest) largest = off;
    }
    return (largest * seconds) / (seconds + lastS);
  }

  #accept(seconds: number, errorV: number): void {
    const free = 0.9 * Math.sqrt(TOLERANCE_V / Math.max(errorV, 1e-12));
    // A step cut short by an event says nothing about how long the next may be.
    const grown = seconds * (this.#smoothSteps < 2 ? 1 : Math.min(GROWTH_MAX, free));
    this.#wantedS = grown;
    this.#begin.set(this.#end);
    this.#end.set(this.#trial);
    this.#beginS = this.#endS;
    this.#endS += seconds;
    this.#smoothSteps += 1;
    this.stepCount += 1;
  }
}
