/** Which steps may stand in a test, by what the faultless circuit does. */
import { Lanes } from "../lanes/lanes.ts";
import type { LineValues, WalkSubject } from "./walk-machine.ts";

/** Answers remembered; a search asks for the same steps again and again. */
const KEPT_MOST = 100_000;

export class StepRules {
  readonly #lanes: Lanes;
  readonly #inputs: Uint8Array;
  readonly #bouncing: readonly number[];
  readonly #kept = new Map<string, boolean>();

  constructor({ circuit, bouncing }: WalkSubject) {
    this.#lanes = new Lanes(circuit, []);
    this.#inputs = new Uint8Array(circuit.inputs.length).fill(3);
    this.#bouncing = bouncing ?? [];
  }

  /**
   * Whether a step ends where it must, in whatever order lines and gates move: no net that was known becomes
   * unknown, and contacts that touch, leave and touch again leave the board where they brought it first.
   *
   * @param values of all nets before the step: 1 low, 2 high, 3 unknown
   */
  allows(values: Uint8Array, lines: LineValues): boolean {
    const key = `${values.join("")} ${lines.join("")}`;
    const kept = this.#kept.get(key);
    if (kept !== undefined) return kept;
    const allowed = this.#allows(values, lines);
    if (this.#kept.size < KEPT_MOST) this.#kept.set(key, allowed);
    return allowed;
  }

  #allows(values: Uint8Array, lines: LineValues): boolean {
    const { circuit } = this.#lanes;
    this.#lanes.startFrom(values);
    this.#step(lines);
    const after = this.#values();
    if (values.some((value, net) => value !== 3 && after[net] === 3)) return false;
    return this.#bouncing.every((line) => {
      if (values[circuit.inputs[line] ?? -1] === lines[line]) return true;
      this.#lanes.startFrom(after);
      const away = lines.slice();
      away[line] = 3 - (lines[line] ?? 1);
      this.#step(away);
      this.#step(lines);
      return this.#values().every((value, net) => after[net] === 3 || value === after[net]);
    });
  }

  #step(lines: LineValues): void {
    this.#inputs.set(lines);
    this.#lanes.step(this.#inputs);
  }

  #values(): Uint8Array {
    return Uint8Array.from(this.#lanes.circuit.nets, (_, net) => this.#lanes.value(net));
  }
}

const rulesOf = new WeakMap<WalkSubject, StepRules>();

/** The rules of a subject, shared by all who take it through steps. */
export function stepRules(subject: WalkSubject): StepRules {
  const known = rulesOf.get(subject);
  if (known) return known;
  const rules = new StepRules(subject);
  rulesOf.set(subject, rules);
  return rules;
}
