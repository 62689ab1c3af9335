/**
 * Files of a set that follow from the others by this program alone. Made again and proved by their
 * sealed hash they show to the byte what was changed; where a later program would make them otherwise
 * the hash does not agree, and nothing is claimed from them.
 */
import type { AcceptanceRecord } from "../acceptance-record.ts";
import type { PageFacts } from "../page/page-facts.ts";
import { recordPage } from "../page/record-page.ts";
import { recordSheet } from "../write-record.ts";
import { canonicalJson } from "./canonical-json.ts";
import { RECORD, RECORD_PAGE, RECORD_SHEET } from "./set-files.ts";

/**
 * The record as it was sealed: from the journal, and from the altered record what the journal has not.
 *
 * @param draft   what the journal gives
 * @param altered text of the record as it is now
 */
export function recordAgain(draft: AcceptanceRecord, altered: string): Uint8Array | null {
  try {
    const { number, release }: Partial<AcceptanceRecord> = JSON.parse(altered);
    if (number === undefined || release === undefined) return null;
    return Buffer.from(canonicalJson({ ...draft, status: "released", number, release }));
  } catch {
    // No JSON any more, or what JSON cannot carry: there is nothing to make it from.
    return null;
  }
}

/** What a released record is kept as: for programs, as text, and as a page to look at. */
export function recordFiles(
  record: AcceptanceRecord,
  facts: PageFacts,
): ReadonlyMap<string, Uint8Array> {
  return new Map([
    [RECORD, Buffer.from(canonicalJson(record))],
    [RECORD_SHEET, Buffer.from(recordSheet(record))],
    [RECORD_PAGE, Buffer.from(recordPage(record, facts))],
  ]);
}
