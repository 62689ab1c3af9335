/** A draft into the record that is released: what only the releasing adds. */
import type { AcceptanceRecord, Release } from "./acceptance-record.ts";
import { recordNumber } from "./seal/record-number.ts";

/** @param count of releases of this run, this one with them */
export function releasedRecord(
  draft: AcceptanceRecord,
  release: Release,
  count: number,
): AcceptanceRecord {
  return { ...draft, status: "released", number: recordNumber(draft, count), release };
}
