/** Tube types with published constants, as read from shared/tubes.json. */
import tubes from "../../../shared/tubes.json" with { type: "json" };
import type { TriodeLaw } from "./triode-law.ts";

const laws: ReadonlyMap<string, TriodeLaw> = new Map(
  Object.entries(tubes.types).flatMap(([name, type]) => {
    const { mu, ex, kg1, kp, kvb } = type.plate;
    const law = { mu, ex, kg1, kp, kvb, gridOhm: type.grid.ohm, gridCornerV: type.grid.cornerV };
    return [name, ...type.alike].map((each) => [each, law] as const);
  }),
);

/**
 * Constants of a tube type.
 *
 * @throws RangeError when the type is not in shared/tubes.json
 */
export function triodeLawOf(tube: string): TriodeLaw {
  const law = laws.get(tube);
  if (law === undefined) {
    throw new RangeError(
      `Expected a tube type of shared/tubes.json (${[...laws.keys()].join(", ")}), got "${tube}". ` +
        "Correct the circuit file or add the type with its source.",
    );
  }
  return law;
}
