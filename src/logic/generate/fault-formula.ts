/**
 * A formula that is true for exactly the inputs which show a fault: the circuit, as much of a faulty copy as
 * the fault can reach, and at one observed net or more the two unlike.
 *
 * @source Boolean difference as a satisfiability question: T. Larrabee, IEEE Trans. CAD 11(1), 1992 (from
 *   memory)
 */
import { INVERTING } from "../faults/collapse.ts";
import type { Fault } from "../faults/fault.ts";
import { type Circuit, gateTypeOf, pinsOf, takersOfNet } from "../netlist/circuit.ts";
import type { GateType } from "../netlist/netlist.ts";
import { type Formula, isFalse, isTrue, type Literal } from "./satisfy.ts";

export interface FaultFormula extends Formula {
  /** Of each input of the circuit, its variable, or -1 where the fault does not depend on it. */
  readonly inputVariable: Int32Array;
}

/**
 * @param circuit without feedback and without flip-flops
 * @param observed nets that are read
 */
export function faultFormula(
  circuit: Circuit,
  fault: Fault,
  observed: readonly number[],
): FaultFormula {
  const reached = reachedGates(circuit, fault);
  const copied = new Set([...reached].map((gate) => circuit.gateOutput[gate] ?? -1));
  if (fault.site.kind === "stem") copied.add(fault.net);
  const seen = observed.filter((net) => copied.has(net));
  const writer = new ClauseWriter();
  const good = needed(circuit, [fault.net, ...seen, ...pinsOfAll(circuit, reached)]);
  const goodVariable = new Map([...good].map((net) => [net, writer.variable()]));
  const of = (net: number) => goodVariable.get(net) ?? -1;
  for (const net of good) {
    const gate = circuit.driver[net] ?? -1;
    if (gate >= 0)
      writer.gate(
        gateTypeOf(circuit, gate),
        isTrue(of(net)),
        [...pinsOf(circuit, gate)].map((pin) => isTrue(of(pin))),
      );
  }
  writer.clause([fault.stuckAt === 0 ? isTrue(of(fault.net)) : isFalse(of(fault.net))]);
  if (fault.site.kind !== "observed") {
    const badVariable = new Map([...copied].map((net) => [net, writer.variable()]));
    const stuck = writer.constant(fault.stuckAt);
    const bad = (net: number) => isTrue(badVariable.get(net) ?? of(net));
    if (fault.site.kind === "stem") writer.same(bad(fault.net), stuck);
    for (const gate of reached) {
      const pins = [...pinsOf(circuit, gate)].map((net, pin) =>
        isFaultyPin(fault, gate, pin) ? stuck : bad(net),
      );
      writer.gate(gateTypeOf(circuit, gate), bad(circuit.gateOutput[gate] ?? -1), pins);
    }
    writer.clause(seen.map((net) => writer.unlike(isTrue(of(net)), bad(net))));
  }
  return {
    variableCount: writer.variableCount,
    clauses: writer.clauses,
    inputVariable: Int32Array.from(circuit.inputs, (net) => of(net)),
  };
}

function isFaultyPin({ site }: Fault, gate: number, pin: number): boolean {
  return site.kind === "gate pin" && site.gate === gate && site.pin === pin;
}

/** Gates a fault can change. */
function reachedGates(circuit: Circuit, { net, site }: Fault): Set<number> {
  if (site.kind === "observed" || site.kind === "flip-flop data") return new Set();
  const first = site.kind === "gate pin" ? [site.gate] : [...takersOfNet(circuit, net)];
  const reached = new Set(first);
  for (const gate of reached)
    for (const next of takersOfNet(circuit, circuit.gateOutput[gate] ?? -1)) reached.add(next);
  return reached;
}

function pinsOfAll(circuit: Circuit, gates: Iterable<number>): number[] {
  return [...gates].flatMap((gate) => [...pinsOf(circuit, gate)]);
}

/** These nets and all they depend on. */
function needed(circuit: Circuit, nets: readonly number[]): Set<number> {
  const found = new Set(nets);
  for (const net of found) {
    const gate = circuit.driver[net] ?? -1;
    if (gate >= 0) for (const pin of pinsOf(circuit, gate)) found.add(pin);
  }
  return found;
}

/** Clauses of gates, with variables as they are asked for. */
class ClauseWriter {
  readonly clauses: Literal[][] = [];
  variableCount = 0;

  variable(): number {
    this.variableCount += 1;
    return this.variableCount - 1;
  }

  clause(literals: Literal[]): void {
    this.clauses.push(literals);
  }

  constant(value: 0 | 1): Literal {
    const variable = this.variable();
    this.clause([isTrue(variable)]);
    return value === 1 ? isTrue(variable) : isFalse(variable);
  }

  same(one: Literal, other: Literal): void {
    this.clause([one, other ^ 1]);
    this.clause([one ^ 1, other]);
  }

  /** A literal that is true only if the two are unlike. */
  unlike(one: Literal, other: Literal): Literal {
    const differs = isTrue(this.variable());
    this.clause([differs ^ 1, one, other]);
    this.clause([differs ^ 1, one ^ 1, other ^ 1]);
    return differs;
  }

  gate(type: GateType, output: Literal, pins: readonly Literal[]): void {
    const joined = INVERTING.has(type) ? output ^ 1 : output;
    if (type === "xor" || type === "xnor") this.#parity(joined, pins);
    else if (type === "or" || type === "nor") {
      const turned = pins.map((pin) => pin ^ 1);
      this.#and(joined ^ 1, turned);
    } else this.#and(joined, pins);
  }

  #and(output: Literal, pins: readonly Literal[]): void {
    for (const pin of pins) this.clause([output ^ 1, pin]);
    this.clause([output, ...pins.map((pin) => pin ^ 1)]);
  }

  #parity(output: Literal, pins: readonly Literal[]): void {
    const [first = 0, ...rest] = pins;
    let sum = first;
    for (const pin of rest) {
      const next = isTrue(this.variable());
      this.clause([next ^ 1, sum, pin]);
      this.clause([next ^ 1, sum ^ 1, pin ^ 1]);
      this.clause([next, sum ^ 1, pin]);
      this.clause([next, sum, pin ^ 1]);
      sum = next;
    }
    this.same(output, sum);
  }
}
