/**
 * A network of gates as logic sees it: names and functions, no volts. Boards and netlist files are both
 * brought into this form.
 */

/** What a gate makes of its inputs. `not` and `buf` take one; the others one or more. */
export const GATE_TYPES = ["and", "nand", "or", "nor", "xor", "xnor", "not", "buf"] as const;
export type GateType = (typeof GATE_TYPES)[number];

export interface Gate {
  /** Unique among gates: the stage's name, or the net it drives. */
  readonly name: string;
  readonly type: GateType;
  /** Nets, in the order of the pins; a net may stand twice. */
  readonly inputs: readonly string[];
  readonly output: string;
  /**
   * Held back on purpose, by a capacitor say: it moves only after all gates that are not slow have settled.
   * Settling is then done twice: with slow gates held where they were, and with all gates free.
   */
  readonly slow?: true;
}

/** An edge-triggered storage element of a clocked netlist; all of a netlist share one clock. */
interface FlipFlop {
  readonly name: string;
  readonly data: string;
  readonly output: string;
}

export interface Netlist {
  readonly name: string;
  /** Nets driven from outside, in order. */
  readonly inputs: readonly string[];
  /** Nets observed from outside, in order. */
  readonly outputs: readonly string[];
  /** In the order of the file. */
  readonly gates: readonly Gate[];
  readonly flipFlops: readonly FlipFlop[];
}
