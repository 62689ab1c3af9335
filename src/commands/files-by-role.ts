/** Files told apart by their `format:` line, whatever their names. */
import type { LoadResult } from "../formats/load-document.ts";
import type { FileProblem } from "../formats/problem.ts";
import { loadUnit, type Unit } from "../formats/unit.schema.ts";
import { type LoadedFiles, loadProofFiles } from "./proof-folder.ts";
import { type ProofFile, type ProofRole, readProofFile } from "./read-proof-file.ts";

export interface FilesByRole {
  readonly loaded: LoadedFiles;
  /** The unit file among them, read; null when there is none. */
  readonly unit: LoadResult<Unit> | null;
  /** What is wrong with the paths, and in the files of a proof; those of the unit are its own. */
  readonly problems: readonly FileProblem[];
}

/** Read and load files of any kind, one of each. */
export async function filesByRole(paths: readonly string[]): Promise<FilesByRole> {
  const problems: FileProblem[] = [];
  const byRole = new Map<Exclude<ProofRole, "unit">, ProofFile>();
  let unit: LoadResult<Unit> | null = null;
  for (const path of paths) {
    const read = await readProofFile(path, "proof");
    if (!read.ok) {
      problems.push(...read.problems);
      continue;
    }
    const role = roleOf(read.file.text);
    if (role === "unit") {
      unit = loadUnit(read.file.text, path);
      continue;
    }
    const other = role === null ? undefined : byRole.get(role);
    if (role === null) problems.push(noFormat(path));
    else if (other !== undefined) problems.push(sameRole(path, role, other.path));
    else byRole.set(role, { ...read.file, role });
  }
  const loaded = await loadProofFiles([...byRole.values()]);
  return { loaded, unit, problems: [...problems, ...loaded.problems] };
}

const ROLES: readonly ProofRole[] = ["board", "rig", "sequence", "circuit", "unit", "calibration"];

/** Role by the format line alone; the loader reads it properly afterwards. */
function roleOf(text: string): ProofRole | null {
  const match =
    /^(?:\{\s*)?["']?format["']?\s*:\s*["']?holdfast-(board|rig|sequence|circuit|unit|calibration)\b/m.exec(
      text,
    );
  const role = match?.[1];
  return ROLES.find((known) => known === role) ?? null;
}

function noFormat(file: string): FileProblem {
  return {
    code: "FORMAT_WRONG",
    file,
    line: 1,
    column: 1,
    offending: "",
    reason:
      "no line names a format, expected holdfast-board, -rig, -sequence, -circuit, -unit or -calibration",
    whatToDo: "add `format:` as the first line, or check that the right file is named",
  };
}

function sameRole(file: string, role: ProofRole, other: string): FileProblem {
  return {
    code: "NAME_TWICE",
    file,
    line: 1,
    column: 1,
    offending: "",
    reason: `a second ${role} file beside ${other}`,
    whatToDo: "name one of each kind",
  };
}
