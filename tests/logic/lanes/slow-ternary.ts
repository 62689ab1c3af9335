/**
 * The same as the lanes, the plain way: one circuit, one fault, whole states of `0`, `1` and `X`, all gates
 * at once, a gate's value by trying every completion of its inputs. Slow on purpose; shares nothing with
 * `src/logic/lanes`.
 */
import type { Fault } from "../../../src/logic/faults/fault.ts";
import type { Netlist } from "../../../src/logic/netlist/netlist.ts";

export type Ternary = "0" | "1" | "X";
export type Values = ReadonlyMap<string, Ternary>;

const FUNCTIONS: Readonly<Record<string, (pins: readonly boolean[]) => boolean>> = {
  and: (pins) => pins.every(Boolean),
  nand: (pins) => !pins.every(Boolean),
  or: (pins) => pins.some(Boolean),
  nor: (pins) => !pins.some(Boolean),
  xor: (pins) => pins.filter(Boolean).length % 2 === 1,
  xnor: (pins) => pins.filter(Boolean).length % 2 === 0,
  not: ([pin]) => pin !== true,
  buf: ([pin]) => pin === true,
};

function completions(pins: readonly Ternary[]): boolean[][] {
  return pins.reduce<boolean[][]>(
    (all, pin) =>
      all.flatMap((one) =>
        (pin === "X" ? [false, true] : [pin === "1"]).map((level) => [...one, level]),
      ),
    [[]],
  );
}

function gateValue(type: string, pins: readonly Ternary[]): Ternary {
  const compute = FUNCTIONS[type];
  if (!compute) throw new Error(`no gate ${type}`);
  const answers = new Set(completions(pins).map(compute));
  if (answers.size === 2) return "X";
  return answers.has(true) ? "1" : "0";
}

const join = (one: Ternary | undefined, other: Ternary): Ternary => (one === other ? other : "X");

export class SlowTernary {
  values: Values;
  readonly #netlist: Netlist;
  readonly #faults: readonly Fault[];
  readonly #nets: readonly string[];

  constructor(netlist: Netlist, faults: readonly Fault[], start: Values) {
    this.#netlist = netlist;
    this.#faults = faults;
    this.#nets = [
      ...netlist.inputs,
      ...netlist.flipFlops.map(({ output }) => output),
      ...netlist.gates.map(({ output }) => output),
    ];
    this.values = new Map(this.#nets.map((net) => [net, this.#stem(net, start.get(net) ?? "X")]));
  }

  step(inputs: Values): void {
    this.#settle(inputs);
  }

  clock(): void {
    this.#settle(
      new Map(
        this.#netlist.flipFlops.map(({ data, output }, flipFlop) => [
          output,
          this.#at(
            (one) => one.site.kind === "flip-flop data" && one.site.flipFlop === flipFlop,
            this.values.get(data) ?? "X",
          ),
        ]),
      ),
    );
  }

  reading(net: string): Ternary {
    return this.#at(
      (one) => one.site.kind === "observed" && this.#nets[one.net] === net,
      this.values.get(net) ?? "X",
    );
  }

  #settle(sources: Values): void {
    for (const held of [true, false]) {
      const between = new Map(
        [...sources].map(([net, value]) => [net, join(this.values.get(net), value)]),
      );
      this.#repeat(between, (old, value) => join(old, value), held);
      this.#repeat(sources, (_, value) => value, held);
    }
  }

  #repeat(
    sources: Values,
    merge: (old: Ternary | undefined, value: Ternary) => Ternary,
    slowHeld: boolean,
  ): void {
    this.values = new Map([
      ...this.values,
      ...[...sources].map(([net, value]) => [net, this.#stem(net, value)] as const),
    ]);
    for (;;) {
      const next = new Map(this.values);
      for (const [gate, { type, inputs, output, slow }] of this.#netlist.gates.entries()) {
        if (slow && slowHeld) continue;
        const pins = inputs.map((net, pin) =>
          this.#at(
            ({ site }) => site.kind === "gate pin" && site.gate === gate && site.pin === pin,
            this.values.get(net) ?? "X",
          ),
        );
        next.set(output, this.#stem(output, merge(this.values.get(output), gateValue(type, pins))));
      }
      const same = [...next].every(([net, value]) => this.values.get(net) === value);
      this.values = next;
      if (same) return;
    }
  }

  #stem(net: string, value: Ternary): Ternary {
    return this.#at((one) => one.site.kind === "stem" && this.#nets[one.net] === net, value);
  }

  #at(applies: (fault: Fault) => boolean, value: Ternary): Ternary {
    const fault = this.#faults.find(applies);
    return fault === undefined ? value : fault.stuckAt === 0 ? "0" : "1";
  }
}
