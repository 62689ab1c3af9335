/** The logic model against the reference pack of published netlists and cases, part by part. */
import { faultFigures } from "./benchmarks/faults.ts";
import { ternaryFigures } from "./benchmarks/ternary.ts";
import type { FigureContext } from "./figure.ts";

export async function figure(context: FigureContext): Promise<void> {
  faultFigures(context);
  ternaryFigures(context);
}
