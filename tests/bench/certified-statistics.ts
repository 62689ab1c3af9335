/**
 * The program's statistics against NIST StRD: leading digits that agree with the certified values, the
 * least of each data set, and the least sets first.
 */
import { agreements } from "../measure/statistics/certified.ts";
import type { FigureContext } from "./figure.ts";

export async function figure({ report, say }: FigureContext): Promise<void> {
  const sets = agreements().map(({ digits, ...set }) => ({
    ...set,
    digits,
    worst: Math.min(...Object.values(digits)),
  }));
  sets.sort((a, b) => a.worst - a.least - (b.worst - b.least));
  for (const { kind, name, least, digits, worst } of sets) {
    const each = Object.entries(digits).map(([what, agreed]) => `${what} ${agreed.toFixed(1)}`);
    say(`${name}: ${each.join(", ")}`);
    report({
      name: `certified-statistics ${kind}, ${name}`,
      value: Math.floor(worst * 10) / 10,
      unit: `digits that agree (LRE), the least of ${each.length} certified results`,
      limit:
        kind === "univariate" && least < 10
          ? `>= ${least}: the data in binary allow no more`
          : `>= ${least}`,
      holds: worst >= least,
    });
  }
}
