/** The calibration that counts for a rig: the newest in the folder `calibrations` beside its file. */
import { readdir } from "node:fs/promises";
import { dirname, join } from "node:path";
import { type Calibration, loadCalibration } from "../formats/calibration.schema.ts";
import type { LoadedDocument } from "../formats/load-document.ts";
import type { FileProblem } from "../formats/problem.ts";
import { type ProofFile, readProofFile } from "./read-proof-file.ts";

export const CALIBRATIONS_FOLDER = "calibrations";

/** Such as 2026-05-01T102030Z.yaml: sorted by name they are sorted by time. */
const NAME_PATTERN = /^\d{4}-\d{2}-\d{2}T\d{6}Z\.yaml$/;

export interface NewestCalibration {
  /** Null when there is none of this rig. */
  readonly found: {
    readonly file: ProofFile;
    readonly document: LoadedDocument<Calibration>;
  } | null;
  readonly problems: readonly FileProblem[];
}

/** File name for a time such as 2026-05-01T10:20:30.000+00:00. */
export function calibrationFileName(wallTime: string): string {
  return `${new Date(wallTime).toISOString().slice(0, 19).replaceAll(":", "")}Z.yaml`;
}

/**
 * Read the newest calibration of a rig. Those of another rig are passed over, unless there is no other:
 * then the newest of them is given, to be told as what it is. A broken file is never passed over, since
 * nobody can know what it would have said.
 */
export async function newestCalibration(rigPath: string, rig: string): Promise<NewestCalibration> {
  const folder = join(dirname(rigPath), CALIBRATIONS_FOLDER);
  const listed = await namesIn(folder);
  if (typeof listed === "string") return { found: null, problems: [unlisted(folder, listed)] };
  const odd = listed.filter((name) => /\.ya?ml$/i.test(name) && !NAME_PATTERN.test(name));
  if (odd.length > 0)
    return { found: null, problems: odd.map((name) => oddName(join(folder, name))) };
  let foreign: NewestCalibration["found"] = null;
  for (const name of listed
    .filter((one) => NAME_PATTERN.test(one))
    .sort()
    .reverse()) {
    const read = await readProofFile(join(folder, name), "calibration");
    if (!read.ok) return { found: null, problems: read.problems };
    const loaded = loadCalibration(read.file.text, read.file.path);
    if (!loaded.ok) return { found: null, problems: loaded.problems };
    const found = {
      file: { ...read.file, role: "calibration" },
      document: loaded.document,
    } as const;
    if (loaded.document.value.rig === rig) return { found, problems: [] };
    foreign ??= found;
  }
  return { found: foreign, problems: [] };
}

/** None where there is no such folder: then nothing was calibrated yet. The system's code where it cannot be read. */
async function namesIn(folder: string): Promise<string[] | string> {
  try {
    return await readdir(folder);
  } catch (error) {
    if (!(error instanceof Error && "code" in error)) throw error;
    return error.code === "ENOENT" ? [] : String(error.code);
  }
}

function unlisted(file: string, code: string): FileProblem {
  return {
    code: "FILE_UNREADABLE",
    file,
    line: null,
    column: null,
    offending: "",
    reason: `cannot be listed (${code}), expected a folder of calibrations`,
    whatToDo: "make it one that may be read, or move it away",
  };
}

function oddName(file: string): FileProblem {
  return {
    code: "VALUE_REFUSED",
    file,
    line: null,
    column: null,
    offending: "",
    reason: "this name does not say when it was made, expected one such as 2026-05-01T102030Z.yaml",
    whatToDo: "give it back its name, or move it out of this folder",
  };
}
