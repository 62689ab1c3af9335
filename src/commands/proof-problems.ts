/** A proof from a folder for a command that needs it whole. */
import { problemLines } from "../formats/problem.ts";
import { loadProof, type Proof } from "./proof-folder.ts";

/** The proof, or null after every problem has been said on standard error. */
export async function proofOrProblems(folder: string): Promise<Proof | null> {
  const result = await loadProof(folder);
  if (result.ok) return result.proof;
  for (const line of problemLines(result.problems)) process.stderr.write(`${line}\n`);
  return null;
}
