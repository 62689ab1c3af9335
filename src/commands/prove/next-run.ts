/**
 * The next run, made ready while the heaters of this one are kept on: files read again, folder and
 * journal made. Only what the connected controller and the warm board still fit may change.
 */
import { problemLines } from "../../formats/problem.ts";
import { loadProof, type Proof } from "../proof-folder.ts";
import { UsageError } from "../usage-error.ts";
import { type ProofBench, timeOf } from "./proof-bench.ts";
import type { ProveOptions } from "./prove-options.ts";
import { makeRunFiles, type RunFiles } from "./run-files.ts";

export interface PreparedRun {
  readonly proof: Proof;
  readonly files: RunFiles;
}

/** Files that may not change under a warm board: its limits, and what is wired where. */
const STANDING_FILES: ReadonlySet<string> = new Set(["board", "rig", "circuit"]);

/**
 * @throws UsageError with everything that is wrong, for the person to mend while standby goes on
 * @throws JournalFault when there is no place to write
 */
export async function prepareNextRun(
  options: ProveOptions,
  before: Proof,
  bench: Pick<ProofBench, "clock" | "seed">,
): Promise<PreparedRun> {
  const result = await loadProof(options.folder);
  if (!result.ok) throw new UsageError(problemLines(result.problems).join("\n"));
  const { proof } = result;
  const changed = proof.plan.sources.filter(
    ({ role, sha256 }) =>
      STANDING_FILES.has(role) &&
      before.plan.sources.find((source) => source.role === role)?.sha256 !== sha256,
  );
  if (changed.length > 0) {
    throw new UsageError(
      `Expected only the sequence to change between runs on one warm-up, but ${changed.map(({ name }) => name).join(" and ")} did. Let go, power down, and prove anew.`,
    );
  }
  // The unit on the bench is the one that was there before.
  const unitFiles = before.files.filter(({ role }) => role === "unit");
  const unitFile = before.plan.sources.filter(({ role }) => role === "unit");
  const sources = [...proof.plan.sources, ...unitFile];
  const plan = { ...proof.plan, sources };
  const next: Proof = { ...proof, plan, files: [...proof.files, ...unitFiles] };
  return { proof: next, files: makeRunFiles(options.runs, next, timeOf(bench)) };
}
