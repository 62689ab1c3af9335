/** Settled states of a board that were found once, and where switching leads from one to another. */

/** One settled state: where the contacts stand, and the volts at both ends of the present stretch of time. */
export interface KeptState {
  readonly id: number;
  /** Contacts that are operated, bit i for output i + 1. */
  readonly mask: number;
  /** By node; common is the last entry. */
  readonly from: Float64Array;
  readonly to: Float64Array;
  /** Moment for which `to` was solved. */
  solvedS: number;
  usedS: number;
  /** A state that ceased to exist is reached by nothing any more. */
  lost: boolean;
}

/** Where switching to a mask leads from one state. */
export interface Passage {
  readonly to: KeptState;
  /** What the board was like when the passage was seen. */
  readonly seenAt: Float64Array;
  /** Moment for which it was last compared with what the board is like, and what came of it. */
  comparedS: number;
  isAlike: boolean;
}

/** States whose every node is nearer than this are one; the two of a latch are tens of volts apart. */
const SAME_V = 3;
/** A board in use has some ten; beyond this the oldest goes. */
const STATES_MAX = 256;

/** What is known of a board under one set of circumstances. */
export class KeptStates {
  readonly #states: KeptState[] = [];
  readonly #passages = new Map<number, Passage>();
  #made = 0;

  /** The state that these volts are, made if it is new. Its volts are set to them. */
  at(mask: number, volts: Float64Array, seconds: number): KeptState {
    const same = this.#states.find((one) => one.mask === mask && apartV(one.to, volts) < SAME_V);
    const state = same ?? this.#make(mask, volts.length);
    state.from.set(volts);
    state.to.set(volts);
    state.solvedS = seconds;
    state.usedS = seconds;
    return state;
  }

  /** States used since a moment. */
  usedSince(seconds: number): KeptState[] {
    return this.#states.filter(({ usedS }) => usedS >= seconds);
  }

  forget(state: KeptState): void {
    state.lost = true;
    const index = this.#states.indexOf(state);
    if (index >= 0) this.#states.splice(index, 1);
  }

  /** Switching to this mask from this state was seen to lead to that one. */
  learn(from: KeptState, to: KeptState, seenAt: Float64Array): void {
    const comparedS = Number.NEGATIVE_INFINITY;
    this.#passages.set(keyOf(from, to.mask), { to, seenAt, comparedS, isAlike: true });
  }

  /** Where switching to a mask was seen to lead, whenever that was. */
  passage(from: KeptState, mask: number): Passage | undefined {
    return this.#passages.get(keyOf(from, mask));
  }

  #make(mask: number, size: number): KeptState {
    const state: KeptState = {
      id: this.#made,
      mask,
      from: new Float64Array(size),
      to: new Float64Array(size),
      solvedS: 0,
      usedS: 0,
      lost: false,
    };
    this.#made += 1;
    this.#states.push(state);
    if (this.#states.length > STATES_MAX) {
      const oldest = this.#states.reduce((one, other) => (other.usedS < one.usedS ? other : one));
      if (oldest !== state) this.forget(oldest);
    }
    return state;
  }
}

function keyOf(from: KeptState, mask: number): number {
  return from.id * 256 + mask;
}

/** Largest difference at any node. */
export function apartV(one: Float64Array, other: Float64Array): number {
  let most = 0;
  for (let node = 0; node < one.length; node += 1) {
    const apart = Math.abs((one[node] as number) - (other[node] as number));
    if (!(apart <= most)) most = apart;
  }
  return most;
}
