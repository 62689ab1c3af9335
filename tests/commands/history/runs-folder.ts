/** A folder of runs on disk, each a real journal of made-up events. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { RunEvent } from "../../../src/events/events.ts";
import { writeRun } from "../../journal/write-run.ts";

export interface RunsFolder {
  readonly path: string;
  put(run: string, events: readonly RunEvent[], cutBytes?: number): void;
  remove(): void;
}

export function runsFolder(): RunsFolder {
  const path = mkdtempSync(join(tmpdir(), "holdfast-history-"));
  return {
    path,
    put(run, events, cutBytes = 0) {
      mkdirSync(join(path, run), { recursive: true });
      const { bytes } = writeRun(events);
      writeFileSync(join(path, run, "journal.ndjson"), bytes.subarray(0, bytes.length - cutBytes));
    },
    remove: () => rmSync(path, { recursive: true, force: true }),
  };
}
