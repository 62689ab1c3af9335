/**
 * The number of a record: the day of its run, the beginning of the last hash of its journal, and how
 * many times that run has been released, such as 20260502-8c1f22ab-1. Nobody gives numbers out; a
 * number says itself whether it belongs to its journal.
 */
import type { AcceptanceRecord } from "../acceptance-record.ts";

/** Enough for the runs of a day; the whole hash stands in the record. */
const HASH_DIGITS = 8;

/** @param count of releases of the run, this one with them */
export function recordNumber({ opened, journal }: AcceptanceRecord, count: number): string {
  const day = opened.slice(0, "2026-05-02".length).replaceAll("-", "");
  return `${day}-${journal.lastHash.slice(0, HASH_DIGITS)}-${count}`;
}

/** Whether a released record has the number of its own run and journal. */
export function numberFits(record: AcceptanceRecord): boolean {
  const count = Number(record.number?.split("-").at(-1));
  return Number.isSafeInteger(count) && count > 0 && record.number === recordNumber(record, count);
}
