/** A run as the index is told of it, made up: what a test asks about, and the rest as usual. */
import type { RunFacts, RunRow } from "../../../src/store/run-index/tables.ts";

const usual: Omit<RunRow, "run"> = {
  mode: "proof",
  seal: "closed",
  verdict: "pass",
  cause: "completed",
  firstMiss: null,
  unit: "LV-12",
  board: "flasher-latch",
  revision: "A",
  sequence: "flasher-latch-proof",
  rig: "cabin-bench",
  bench: "port",
  seed: null,
  program: "holdfast 0.1.0",
  rule: "simple acceptance",
  uncertainty: "not evaluated",
  boardSha256: "aa".repeat(32),
  sequenceSha256: "bb".repeat(32),
  rigSha256: null,
  calibration: null,
  rigCheck: null,
  opened: "2026-05-02T10:00:00.000+00:00",
  openedMs: Date.parse("2026-05-02T10:00:00.000Z"),
  closed: "2026-05-02T10:03:00.000+00:00",
  lengthMs: 180_000,
  warmUpMs: 24_000,
  journalVersion: 4,
  lines: 700,
  lastHash: "cc".repeat(32),
  tornBytes: 0,
  bytes: 400_000,
};

export function factsOf(run: Partial<RunRow> & Pick<RunRow, "run">, serial: string): RunFacts {
  return {
    run: { ...usual, ...run },
    places: [
      {
        run: run.run,
        position: "V1",
        tube: "ECC82",
        serial,
        heaterMs: 170_000,
        plateMs: 150_000,
        heaterOnlyMs: 20_000,
      },
    ],
    sections: [],
    results: [],
    soak: null,
    drifts: [],
    calibration: null,
    records: [],
  };
}
