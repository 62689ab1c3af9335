/** Stages as the parts alone show them: a triode, its plate load, and what leads to its grid. */
import type { Circuit, PartOf } from "../../formats/circuit.schema.ts";

export interface WiredStage {
  readonly triode: PartOf<"triode">;
  /** Net at the plate. */
  readonly output: string;
  readonly plateLoad: PartOf<"resistor">;
  readonly diodes: readonly PartOf<"diode">[];
  /** Nets and lines that reach the grid, through diodes or straight. */
  readonly sources: readonly string[];
}

/**
 * Stages of a circuit.
 *
 * @throws RangeError when a triode has no resistor marked as its plate load
 */
export function wiredStages(circuit: Circuit): WiredStage[] {
  const diodes = circuit.parts.filter((part) => part.kind === "diode");
  const resistors = circuit.parts.filter((part) => part.kind === "resistor");
  return circuit.parts
    .filter((part) => part.kind === "triode")
    .map((triode) => {
      const plateLoad = resistors.find(
        ({ use, from, to }) => use === "plate load" && [from, to].includes(triode.plate),
      );
      if (plateLoad === undefined) {
        throw new RangeError(
          `Expected a resistor of use "plate load" at ${triode.plate} for ${triode.part}, found ` +
            "none. Mark it in the circuit file.",
        );
      }
      const couplings = resistors.filter(
        ({ use, from, to }) => use === "coupling" && [from, to].includes(triode.grid),
      );
      const ends = couplings.map(({ from, to }) => (from === triode.grid ? to : from));
      const own = diodes.filter(({ cathode }) => ends.includes(cathode));
      const straight = ends.filter((end) => !own.some(({ cathode }) => cathode === end));
      const sources = [...own.map(({ anode }) => anode), ...straight];
      return { triode, output: triode.plate, plateLoad, diodes: own, sources };
    });
}

/** Outputs of the stages that a net drives. */
export function fanOut(stages: readonly WiredStage[], net: string): string[] {
  return stages.filter(({ sources }) => sources.includes(net)).map(({ output }) => output);
}
