/** A modelled bench for nights: the quick fixture of a proof with what its scenario has for it. */
import type { LoadedDocument } from "../formats/load-document.ts";
import type { FileProblem } from "../formats/problem.ts";
import { loadScenario, type Scenario } from "../formats/scenario.schema.ts";
import { scenarioNameProblems } from "../plan/scenario-names.ts";
import type { PartChange } from "../simulate/fixture.ts";
import type { ModelledBench } from "../simulate/modelled-bench.ts";
import { openFixture } from "./emulated-fixture.ts";
import type { Proof } from "./proof-folder.ts";
import { type Outcome, readProofFile } from "./read-proof-file.ts";

/** When a night begins, so that what happens after five hours happens at three. */
const TEN_IN_THE_EVENING = "2026-01-01T22:00:00.000+00:00";

/** Scenario file to a scenario whose every name the proof knows, or every problem in it. */
export async function readScenario(
  path: string,
  proof: Proof,
): Promise<Outcome<{ readonly scenario: Scenario }>> {
  const read = await readProofFile(path, "scenario");
  if (!read.ok) return read;
  const loaded = loadScenario(read.file.text, read.file.path);
  if (!loaded.ok) return loaded;
  const problems = unknownNames(loaded.document, proof);
  if (problems.length > 0) return { ok: false, problems };
  return { ok: true, scenario: loaded.document.value };
}

function unknownNames(scenario: LoadedDocument<Scenario>, proof: Proof): readonly FileProblem[] {
  const { circuit, rig } = proof;
  return circuit === null ? [] : scenarioNameProblems(scenario, { circuit, rig });
}

/**
 * Bench, fixture and mishaps of a night.
 *
 * @param scenario null for a night in which nothing happens
 * @param paceRatio virtual ms per real ms at most; null as fast as it can
 * @throws UsageError when the proof has no circuit, or a fault names a part or value it has not
 */
export async function openNightBench(
  proof: Proof,
  options: {
    readonly seed: number;
    readonly faults: readonly PartChange[];
    readonly scenario: Scenario | null;
    readonly paceRatio: number | null;
  },
): Promise<ModelledBench> {
  const { seed, faults, scenario, paceRatio } = options;
  const fixture = await openFixture(proof, { seed, faults, night: scenario });
  const { openModelledBench } = await import("../simulate/modelled-bench.ts");
  const bench = openModelledBench({ fixture, paceRatio, wallStart: TEN_IN_THE_EVENING });
  if (scenario !== null) {
    const { appointLinkMishaps } = await import("../simulate/night/link-mishaps.ts");
    appointLinkMishaps(scenario, bench);
  }
  return bench;
}
