/** Rows of the index, made up: what a test asks about, and the rest as usual. */
import type { ResultRow } from "../../src/store/run-index/tables.ts";
import type { TubeInRun } from "../../src/store/run-index/tube-rows.ts";

export function result(row: Partial<ResultRow> & Pick<ResultRow, "channel">): ResultRow {
  return {
    run: "first",
    kind: "net",
    expected: "low",
    count: 20,
    passed: 20,
    conditionallyPassed: 0,
    conditionallyFailed: 0,
    failed: 0,
    voided: 0,
    worstV: 12,
    limitV: 14.5,
    marginV: 2.5,
    worstExpandedV: null,
    meanV: 11.5,
    sdV: 0.1,
    meanCount: 10,
    meanExpandedV: null,
    ...row,
  };
}

const DAY_MS = 86_400_000;
const FIRST_MS = Date.parse("2026-05-01T10:00:00Z");

/** @param day counts from 0 */
export function tubeInRun(
  day: number,
  row: Partial<TubeInRun> & Pick<TubeInRun, "serial">,
): TubeInRun {
  const openedMs = FIRST_MS + day * DAY_MS;
  return {
    run: `run ${day}`,
    mode: "proof",
    seal: "closed",
    bench: "port",
    board: "flasher-latch",
    revision: "A",
    opened: new Date(openedMs).toISOString(),
    openedMs,
    tube: "ECC82",
    unit: "LV-12",
    position: "V1",
    heaterMs: 1000,
    plateMs: 800,
    heaterOnlyMs: 200,
    ...row,
  };
}
