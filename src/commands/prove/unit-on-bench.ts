/** Which unit is on the bench: a serial by word, or a unit file with tubes and cold checks. */
import type { UnitSheet } from "../../events/events.ts";
import type { FileProblem } from "../../formats/problem.ts";
import { loadUnit } from "../../formats/unit.schema.ts";
import { blankColdChecks, checkUnit, unitSheet } from "../../plan/check-unit.ts";
import type { Proof } from "../proof-folder.ts";
import { type ProofFile, readProofFile } from "../read-proof-file.ts";

export interface UnitOnBench {
  readonly unit: string | null;
  readonly sheet: UnitSheet | null;
  /** The unit file, for the record; null for a serial by word. */
  readonly file: ProofFile | null;
  /** What a person should think about before power is switched on. */
  readonly warnings: readonly string[];
}

export type UnitResult =
  | { readonly ok: true; readonly unit: UnitOnBench }
  | { readonly ok: false; readonly problems: readonly FileProblem[] };

/** A serial is never called like a YAML file. */
export function isUnitFile(unit: string): boolean {
  return /\.ya?ml$/i.test(unit);
}

export async function unitOnBench(unit: string | null, proof: Proof): Promise<UnitResult> {
  if (unit === null || !isUnitFile(unit)) {
    return { ok: true, unit: { unit, sheet: null, file: null, warnings: [] } };
  }
  const read = await readProofFile(unit, "unit");
  if (!read.ok) return read;
  const loaded = loadUnit(read.file.text, unit);
  if (!loaded.ok) return loaded;
  const problems = checkUnit(loaded.document, proof.board);
  if (problems.length > 0) return { ok: false, problems };
  const sheet = unitSheet(loaded.document.value);
  const file: ProofFile = { ...read.file, role: "unit" };
  return {
    ok: true,
    unit: { unit: sheet.unit, sheet, file, warnings: blankColdChecks(sheet) },
  };
}
