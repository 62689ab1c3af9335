/**
 * Classes written by hand that the model of the stages does not share, put beside them in the plan, so that a
 * reader of the run sees both. What is judged is what was written: the model changes no verdict.
 */
import type { ExpectedClasses, PlannedStep } from "../events/plan.ts";
import { contradictions } from "../logic/expect/expected-classes.ts";
import { modelProof, type ProofSteps } from "./fill-expected.ts";
import type { PlacedStep } from "./flatten-steps.ts";
import type { ProofDocuments } from "./proof-documents.ts";

/** @param steps of a proof that resolves, every class filled in */
export function noteContradictions(documents: ProofDocuments, steps: ProofSteps): ProofSteps {
  const found = contradictions(modelProof(documents, steps).walk);
  if (found.length === 0) return steps;
  const says = new Map<string, Record<string, "low" | "high">>();
  for (const { path, net, modelled } of found) {
    const place = path.slice(0, -1).join("\0");
    says.set(place, { ...says.get(place), [net]: modelled });
  }
  const at = (path: readonly (string | number)[]): { modelSays?: ExpectedClasses } => {
    const modelSays = says.get(path.join("\0"));
    return modelSays === undefined ? {} : { modelSays };
  };
  const noted = <S extends PlannedStep>(placed: PlacedStep<S>): PlacedStep<S> => {
    const { step, path } = placed;
    const flip =
      step.kind === "hold" ? { flip: { ...step.flip, ...at([...path, "flip", "expect"]) } } : {};
    return { ...placed, step: { ...step, ...at([...path, "expect"]), ...flip } };
  };
  return { pass: steps.pass.map(noted), cycle: steps.cycle.map(noted) };
}
