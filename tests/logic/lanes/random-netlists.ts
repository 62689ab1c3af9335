/** Netlists of any wiring, feedback and flip-flops among it, and every single stuck-at fault of one. */
import fc from "fast-check";
import type { Fault } from "../../../src/logic/faults/fault.ts";
import type { Circuit } from "../../../src/logic/netlist/circuit.ts";
import { GATE_TYPES, type Netlist } from "../../../src/logic/netlist/netlist.ts";

export interface RandomNetlistOptions {
  readonly gatesMost: number;
  readonly flipFlopsMost: number;
  readonly slow: boolean;
}

export function randomNetlists(options: RandomNetlistOptions): fc.Arbitrary<Netlist> {
  return fc
    .record({
      inputCount: fc.integer({ min: 1, max: 4 }),
      gates: fc.array(
        fc.record({
          type: fc.constantFrom(...GATE_TYPES),
          pins: fc.array(fc.nat(), { minLength: 1, maxLength: 4 }),
          slow: options.slow ? fc.nat(5).map((one) => one === 0) : fc.constant(false),
        }),
        { minLength: 1, maxLength: options.gatesMost },
      ),
      data: fc.array(fc.nat(), { maxLength: options.flipFlopsMost }),
    })
    .map(({ inputCount, gates, data }) => {
      const inputs = Array.from({ length: inputCount }, (_, index) => `I${index}`);
      const names = [
        ...inputs,
        ...data.map((_, index) => `F${index}`),
        ...gates.map((_, index) => `N${index}`),
      ];
      const pick = (number: number) => names[number % names.length] ?? "I0";
      return {
        name: "random",
        inputs,
        outputs: [...new Set([pick(names.length - 1), pick(names.length - 2)])],
        gates: gates.map(({ type, pins, slow }, index) => ({
          name: `N${index}`,
          type,
          inputs: (type === "not" || type === "buf" ? pins.slice(0, 1) : pins).map(pick),
          output: `N${index}`,
          ...(slow ? { slow: true as const } : {}),
        })),
        flipFlops: data.map((number, index) => ({
          name: `F${index}`,
          data: pick(number),
          output: `F${index}`,
        })),
      };
    });
}

/** Stem, every pin, every flip-flop's data and every reading, at both levels; nothing collapsed. */
export function everyFault({ nets, netlist, netOf }: Circuit): Fault[] {
  const sites: Omit<Fault, "stuckAt">[] = [
    ...nets.map((_, net) => ({ net, site: { kind: "stem" } as const })),
    ...nets.map((_, net) => ({ net, site: { kind: "observed" } as const })),
    ...netlist.gates.flatMap(({ inputs }, gate) =>
      inputs.map((name, pin) => ({
        net: netOf.get(name) ?? 0,
        site: { kind: "gate pin", gate, pin } as const,
      })),
    ),
    ...netlist.flipFlops.map(({ data }, flipFlop) => ({
      net: netOf.get(data) ?? 0,
      site: { kind: "flip-flop data", flipFlop } as const,
    })),
  ];
  return sites.flatMap((site) => [
    { ...site, stuckAt: 0 as const },
    { ...site, stuckAt: 1 as const },
  ]);
}
