/** A proof from a folder for a command that needs it whole. */
import { existsSync } from "node:fs";
import { problemLines } from "../formats/problem.ts";
import { meantFolder } from "./meant-folder.ts";
import { loadProof, type Proof } from "./proof-folder.ts";
import { NoSuchFolder } from "./usage-error.ts";

/**
 * The proof, or null after every problem has been said on standard error.
 *
 * @throws NoSuchFolder when there is none
 */
export async function proofOrProblems(folder: string): Promise<Proof | null> {
  if (!existsSync(folder)) {
    const meant = meantFolder(folder);
    throw new NoSuchFolder(
      folder,
      `Expected a folder with board.yaml, rig.yaml and sequence.yaml, or a command, got "${folder}": ` +
        `there is none. ${meant === null ? "" : `Did you mean ${meant}? `}See "holdfast --help".`,
    );
  }
  const result = await loadProof(folder);
  if (result.ok) return result.proof;
  for (const line of problemLines(result.problems)) process.stderr.write(`${line}\n`);
  return null;
}
