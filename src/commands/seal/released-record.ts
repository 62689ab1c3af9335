/** The record that was released of a run, for whoever tells or draws the run again. */
import { readFileSync } from "node:fs";
import { dirname } from "node:path";
import { codeOf } from "../../journal/system-error.ts";
import type { AcceptanceRecord } from "../../record/acceptance-record.ts";
import { parseRecord } from "../../record/read-record.ts";
import { isSetFolder, recordPath } from "./released-folders.ts";

/**
 * The newest released record of this very journal.
 *
 * @param own what the journal itself gives
 * @returns null where none was released, or the one there is of another journal
 * @throws RecordReadError
 */
export function releasedRecordOf(journal: string, own: AcceptanceRecord): AcceptanceRecord | null {
  const path = recordPath(dirname(journal));
  // A draft follows from its journal: whether its file can be read is of no matter.
  if (!isSetFolder(dirname(path))) return null;
  const text = textOf(path);
  if (text === null) return null;
  const found = parseRecord(text);
  const isOfJournal = found.journal.lastHash === own.journal.lastHash;
  return found.status === "released" && isOfJournal ? found : null;
}

function textOf(path: string): string | null {
  try {
    return readFileSync(path, "utf8");
  } catch (error) {
    // A run whose record was never written has none.
    if (codeOf(error) === "ENOENT") return null;
    throw error;
  }
}
