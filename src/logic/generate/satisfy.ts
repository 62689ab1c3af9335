/**
 * Whether a formula can be true: clause learning with watched literals.
 *
 * Written here because the packages that would do it are a compiled C program of megabytes, or have had no
 * keeper for years; formulas here have some thousand variables and are decided in milliseconds.
 *
 * @source J. P. Marques-Silva and K. A. Sakallah, GRASP, IEEE Trans. Computers 48(5), 1999; M. W. Moskewicz
 *   et al., Chaff, DAC 2001 (watching, activity); both from memory
 */

/** Variable v true is literal 2 v, false 2 v + 1. */
export type Literal = number;
export const isTrue = (variable: number): Literal => 2 * variable;
export const isFalse = (variable: number): Literal => 2 * variable + 1;
const opposite = (literal: Literal): Literal => literal ^ 1;
const variableOf = (literal: Literal): number => literal >> 1;

export interface Formula {
  readonly variableCount: number;
  /** Every clause must have a true literal. */
  readonly clauses: readonly (readonly Literal[])[];
}

export type Satisfied =
  /** By variable: 1 true, 0 false. */
  | { readonly kind: "true"; readonly values: Uint8Array }
  | { readonly kind: "never true" }
  | { readonly kind: "not decided"; readonly conflicts: number };

export interface SatisfyOptions {
  /** Give up after so many dead ends. */
  readonly conflictsMost: number;
  /** Value tried first, by variable. */
  readonly prefer: (variable: number) => 0 | 1;
}

const UNSET = 2;
const ACTIVITY_DECAY = 0.95;
const ACTIVITY_LIMIT = 1e100;
/** Dead ends before the first restart; later ones come by Luby's series times this. */
const RESTART_UNIT = 64;

export function satisfy(formula: Formula, options: SatisfyOptions): Satisfied {
  return new Search(formula, options).run();
}

class Search {
  readonly #options: SatisfyOptions;
  readonly #variableCount: number;
  /** By literal: clauses that watch it; a clause watches its first two literals. */
  readonly #watchers: number[][][];
  readonly #value: Uint8Array;
  readonly #level: Int32Array;
  readonly #reason: (number[] | null)[];
  readonly #activity: Float64Array;
  readonly #seen: Uint8Array;
  readonly #trail: Literal[] = [];
  readonly #levelStart: number[] = [];
  #next = 0;
  #bump = 1;
  #contradictory = false;

  constructor({ variableCount, clauses }: Formula, options: SatisfyOptions) {
    this.#options = options;
    this.#variableCount = variableCount;
    this.#watchers = Array.from({ length: 2 * variableCount }, () => []);
    this.#value = new Uint8Array(variableCount).fill(UNSET);
    this.#level = new Int32Array(variableCount);
    this.#reason = Array.from({ length: variableCount }, () => null);
    this.#activity = new Float64Array(variableCount);
    this.#seen = new Uint8Array(variableCount);
    for (const clause of clauses) this.#add([...new Set(clause)]);
  }

  run(): Satisfied {
    if (this.#contradictory) return { kind: "never true" };
    let conflicts = 0;
    let restarts = 0;
    let untilRestart = RESTART_UNIT;
    for (;;) {
      const dead = this.#propagate();
      if (dead !== null) {
        conflicts += 1;
        untilRestart -= 1;
        if (this.#levelStart.length === 0) return { kind: "never true" };
        if (conflicts >= this.#options.conflictsMost) return { kind: "not decided", conflicts };
        this.#learn(dead);
      } else if (untilRestart <= 0) {
        restarts += 1;
        untilRestart = RESTART_UNIT * luby(restarts);
        this.#undoTo(0);
      } else {
        const variable = this.#mostActive();
        if (variable === -1) return { kind: "true", values: this.#value };
        this.#levelStart.push(this.#trail.length);
        this.#set(2 * variable + (1 - this.#options.prefer(variable)), null);
      }
    }
  }

  #add(clause: number[]): void {
    if (clause.some((literal) => clause.includes(opposite(literal)))) return;
    const [first, second] = clause;
    if (first === undefined) this.#contradictory = true;
    else if (second === undefined) {
      if (this.#of(first) === 0) this.#contradictory = true;
      else if (this.#of(first) === UNSET) this.#set(first, null);
    } else this.#watch(clause);
  }

  #watch(clause: number[]): void {
    this.#watchers[clause[0] as number]?.push(clause);
    this.#watchers[clause[1] as number]?.push(clause);
  }

  /** Of a literal: 1 true, 0 false, or unset. */
  #of(literal: Literal): number {
    const value = this.#value[literal >> 1] as number;
    return value === UNSET ? UNSET : value ^ (literal & 1);
  }

  #set(literal: Literal, reason: number[] | null): void {
    const variable = variableOf(literal);
    this.#value[variable] = 1 - (literal & 1);
    this.#level[variable] = this.#levelStart.length;
    this.#reason[variable] = reason;
    this.#trail.push(literal);
  }

  /** Follow what is forced; the clause that cannot be met any more, or null. */
  #propagate(): number[] | null {
    while (this.#next < this.#trail.length) {
      const gone = opposite(this.#trail[this.#next] as number);
      this.#next += 1;
      const watchers = this.#watchers[gone] as number[][];
      let kept = 0;
      for (let at = 0; at < watchers.length; at++) {
        const clause = watchers[at] as number[];
        if (clause[0] === gone) {
          clause[0] = clause[1] as number;
          clause[1] = gone;
        }
        if (this.#of(clause[0] as number) === 1 || !this.#moveWatch(clause)) {
          watchers[kept] = clause;
          kept += 1;
          if (this.#of(clause[0] as number) === 1) continue;
          if (this.#of(clause[0] as number) === 0) {
            for (at += 1; at < watchers.length; at++, kept++)
              watchers[kept] = watchers[at] as number[];
            watchers.length = kept;
            return clause;
          }
          this.#set(clause[0] as number, clause);
        }
      }
      watchers.length = kept;
    }
    return null;
  }

  /** Let a clause watch another literal than its second; false when all the others are false. */
  #moveWatch(clause: number[]): boolean {
    for (let at = 2; at < clause.length; at++) {
      const literal = clause[at] as number;
      if (this.#of(literal) === 0) continue;
      clause[at] = clause[1] as number;
      clause[1] = literal;
      this.#watchers[literal]?.push(clause);
      return true;
    }
    return false;
  }

  /** Learn the clause at the first point all ways to the dead end pass, and go back to where it forces. */
  #learn(dead: readonly number[]): void {
    const learnt: number[] = [0];
    const here = this.#levelStart.length;
    let open = 0;
    let at = this.#trail.length - 1;
    let reason: readonly number[] = dead;
    for (;;) {
      for (const literal of reason) {
        const variable = variableOf(literal);
        const level = this.#level[variable] as number;
        if (this.#seen[variable] === 1 || level === 0 || this.#of(literal) === 1) continue;
        this.#seen[variable] = 1;
        this.#raise(variable);
        if (level === here) open += 1;
        else learnt.push(literal);
      }
      while (this.#seen[variableOf(this.#trail[at] as number)] === 0) at -= 1;
      const literal = this.#trail[at] as number;
      at -= 1;
      this.#seen[variableOf(literal)] = 0;
      open -= 1;
      if (open === 0) {
        learnt[0] = opposite(literal);
        break;
      }
      reason = this.#reason[variableOf(literal)] ?? [];
    }
    for (const literal of learnt) this.#seen[variableOf(literal)] = 0;
    this.#bump /= ACTIVITY_DECAY;
    this.#goBack(learnt);
  }

  #goBack(learnt: number[]): void {
    let deepest = 1;
    for (let at = 2; at < learnt.length; at++) {
      if (this.#levelOf(learnt[at]) > this.#levelOf(learnt[deepest])) deepest = at;
    }
    const [forced = 0] = learnt;
    if (learnt.length === 1) {
      this.#undoTo(0);
      this.#set(forced, null);
      return;
    }
    const second = learnt[deepest] as number;
    learnt[deepest] = learnt[1] as number;
    learnt[1] = second;
    this.#undoTo(this.#levelOf(second));
    this.#watch(learnt);
    this.#set(forced, learnt);
  }

  #levelOf(literal: number | undefined): number {
    return literal === undefined ? 0 : (this.#level[variableOf(literal)] as number);
  }

  #undoTo(level: number): void {
    if (this.#levelStart.length <= level) return;
    const start = this.#levelStart[level] as number;
    for (const literal of this.#trail.splice(start)) this.#value[variableOf(literal)] = UNSET;
    this.#levelStart.length = level;
    this.#next = start;
  }

  #raise(variable: number): void {
    this.#activity[variable] = (this.#activity[variable] as number) + this.#bump;
    if ((this.#activity[variable] as number) < ACTIVITY_LIMIT) return;
    for (let at = 0; at < this.#variableCount; at++)
      this.#activity[at] = (this.#activity[at] as number) / ACTIVITY_LIMIT;
    this.#bump /= ACTIVITY_LIMIT;
  }

  #mostActive(): number {
    let best = -1;
    for (let variable = 0; variable < this.#variableCount; variable++) {
      if (this.#value[variable] !== UNSET) continue;
      if (best === -1 || (this.#activity[variable] as number) > (this.#activity[best] as number))
        best = variable;
    }
    return best;
  }
}

/** 1, 1, 2, 1, 1, 2, 4, ...: the series of Luby, Sinclair and Zuckerman; index from 0. */
function luby(index: number): number {
  let size = 1;
  while (size < index + 1) size = 2 * size + 1;
  let at = index;
  while (size - 1 !== at) {
    size = (size - 1) / 2;
    at %= size;
    if (size <= 1) return 1;
  }
  return (size + 1) / 2;
}
