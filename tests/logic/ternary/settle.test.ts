/** Procedures A and B against the reference steps, the clocked benchmark and their own laws. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Circuit, compileCircuit } from "../../../src/logic/netlist/circuit.ts";
import type { Netlist } from "../../../src/logic/netlist/netlist.ts";
import { clock, type Settling, settle, traceSettling } from "../../../src/logic/ternary/settle.ts";
import {
  allUnknown,
  inputsOf,
  lettersOf,
  ternaryOf,
  UNKNOWN,
} from "../../../src/logic/ternary/values.ts";
import s27 from "../../references/logic/s27.json" with { type: "json" };
import { randomNetlists } from "../lanes/random-netlists.ts";
import { benchmarkCircuit } from "../reference-netlists.ts";
import { referenceSteps } from "./reference-steps.ts";

const steps = referenceSteps();

describe("the reference steps", () => {
  it("are 42", () => expect(steps).toHaveLength(42));

  it.each(steps)("$title: step by step", ({ circuit, step, from, inputs, state }) => {
    const traced = traceSettling(circuit, from, inputs);
    const letters = (all: readonly Uint8Array[]) => all.map((values) => lettersOf(values, state));
    expect(letters(traced.stepsOfA)).toEqual(step.trace_A);
    expect(letters(traced.stepsOfB)).toEqual(step.trace_B);
    const { during, after } = settle(circuit, from, inputs);
    expect([during, after]).toEqual([traced.during, traced.after]);
  });
});

describe("s27, clocked", () => {
  const circuit = benchmarkCircuit("s27");
  const { sequence } = s27;
  const runs = Object.entries(sequence.runs);

  it.each(runs)("%s: outputs and states as the reference has them", (_, run) => {
    let values = allUnknown(circuit);
    for (const [index, net] of circuit.flipFlopOutput.entries())
      values[net] = ternaryOf(run.initial_state[index] ?? "?");
    const states = [lettersOf(values, circuit.flipFlopOutput)];
    const outputs: string[] = [];
    for (const vector of sequence.vectors) {
      values = settle(circuit, values, inputsOf(circuit, vector)).after;
      outputs.push(lettersOf(values, circuit.outputs));
      values = clock(circuit, values).after;
      states.push(lettersOf(values, circuit.flipFlopOutput));
    }
    expect(outputs).toEqual(run.good_outputs);
    expect(states).toEqual(run.states_before_each_clock_then_final);
  });

  it.each(s27.one_step_from_unknown.rows)(
    "from unknown, %s clocks into %s and shows %s",
    (vector, next, shown) => {
      const { after } = settle(circuit, allUnknown(circuit), inputsOf(circuit, vector ?? ""));
      expect(lettersOf(after, circuit.outputs)).toBe(shown);
      expect(lettersOf(clock(circuit, after).after, circuit.flipFlopOutput)).toBe(next);
    },
  );

  it.each(s27.state_table.rows)("state %s under %s", (state, vector, next, shown) => {
    const from = allUnknown(circuit);
    for (const [index, net] of circuit.flipFlopOutput.entries())
      from[net] = ternaryOf(state?.[index] ?? "?");
    const { after } = settle(circuit, from, inputsOf(circuit, vector ?? ""));
    expect(lettersOf(after, circuit.outputs)).toBe(shown);
    expect(lettersOf(clock(circuit, after).after, circuit.flipFlopOutput)).toBe(next);
  });
});

const value = fc.integer({ min: 1, max: 3 });
const networks = randomNetlists({ gatesMost: 14, flipFlopsMost: 2, slow: true });
const values = fc.infiniteStream(value);

/** A step of any network from any state, stable or not. */
function stepOf(
  netlist: Netlist,
  stream: Stream,
): { circuit: Circuit; from: Uint8Array; to: Uint8Array } {
  const circuit = compileCircuit(netlist);
  const take = (count: number) => Uint8Array.from({ length: count }, () => stream.next().value);
  return { circuit, from: take(circuit.nets.length), to: take(circuit.inputs.length) };
}
type Stream = Iterator<number, number, undefined>;
const widened = (one: ArrayLike<number>, where: Stream) =>
  Uint8Array.from(one, (old) => (where.next().value === UNKNOWN ? UNKNOWN : old));
/** Whether `wide` says no more than `narrow`, net for net. */
const covers = (wide: Uint8Array, narrow: Uint8Array) =>
  narrow.every((one, net) => ((wide[net] ?? 0) | one) === wide[net]);

describe("settling", () => {
  it("says no more when it is told less: more unknown before, as much or more unknown after", () => {
    let gained = 0;
    fc.assert(
      fc.property(networks, values, values, (netlist, stream, where) => {
        const { circuit, from, to } = stepOf(netlist, stream);
        const one: Settling = settle(circuit, from, to);
        const less: Settling = settle(circuit, widened(from, where), widened(to, where));
        gained += one.after.filter(
          (after, net) => after !== UNKNOWN && less.after[net] === UNKNOWN,
        ).length;
        return covers(less.during, one.during) && covers(less.after, one.after);
      }),
      { numRuns: 300, seed: 8 },
    );
    expect(gained).toBeGreaterThan(100);
  });

  it("may move every net that it moves, and never leaves what A allows", () => {
    fc.assert(
      fc.property(networks, values, (netlist, stream) => {
        const { circuit, from, to } = stepOf(netlist, stream);
        const { during, after } = settle(circuit, from, to);
        return covers(during, from) && covers(during, after);
      }),
      { numRuns: 300, seed: 9 },
    );
  });

  it("does not depend on the order in which gates are written", () => {
    fc.assert(
      fc.property(networks, values, fc.nat(), (netlist, stream, by) => {
        const { circuit, from, to } = stepOf(netlist, stream);
        const { gates } = netlist;
        const turned = by % gates.length;
        const other = compileCircuit({
          ...netlist,
          gates: [...gates.slice(turned), ...gates.slice(0, turned)].reverse(),
        });
        const there = (all: Uint8Array) =>
          Uint8Array.from(other.nets, (net) => all[circuit.netOf.get(net) ?? -1] ?? 0);
        const one = settle(circuit, from, to);
        const same = settle(other, there(from), to);
        expect(same.after).toEqual(there(one.after));
        expect(same.during).toEqual(there(one.during));
      }),
      { numRuns: 200, seed: 10 },
    );
  });

  it("stays where it has settled when no source moves and nothing is unknown", () => {
    fc.assert(
      fc.property(networks, values, (netlist, stream) => {
        const { circuit, from, to } = stepOf(netlist, stream);
        const settled = settle(circuit, from, to).after;
        fc.pre(!settled.includes(UNKNOWN));
        const { during, after } = settle(circuit, settled, to);
        return covers(settled, during) && covers(settled, after);
      }),
      { numRuns: 300, seed: 11 },
    );
  });

  it("refuses a vector of another width by name", () => {
    const circuit = benchmarkCircuit("c17");
    expect(() => settle(circuit, allUnknown(circuit), [1, 2])).toThrow(
      /c17: 2 values for 5 sources/,
    );
    expect(() => inputsOf(circuit, "01")).toThrow(/c17 has 5 inputs, a vector of 2 came/);
    expect(() => inputsOf(circuit, "01?01")).toThrow(/not "\?"/);
  });
});
