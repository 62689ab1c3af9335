/** What host and bench leave on disk while a case runs: the journal and the bench's own log. */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import type { BenchLogEntry } from "../../../src/simulate/bench-log.ts";

/** Longest wall wait for a moment of the run. */
const PHASE_MS = 15_000;

/** The moment was not reached: the run ended by itself, safely or not, before anything was done. */
export class MomentMissed extends Error {}

export function journalPath(folder: string): string | null {
  const runs = join(folder, "runs");
  if (!existsSync(runs)) return null;
  const found = readdirSync(runs, { recursive: true, encoding: "utf8" }).find((name) =>
    name.endsWith(".ndjson"),
  );
  return found === undefined ? null : join(runs, found);
}

export function journalTail(folder: string) {
  return {
    untilPhase(phase: string, exited: Promise<unknown>): Promise<void> {
      return this.until(`"phase":"${phase}"`, exited);
    },
    async until(text: string, exited: Promise<unknown>): Promise<void> {
      let over = false;
      exited.then(() => {
        over = true;
      });
      const until = performance.now() + PHASE_MS;
      while (performance.now() < until) {
        const path = journalPath(folder);
        if (path && readFileSync(path, "utf8").includes(text)) return;
        if (over) throw new MomentMissed(`the host ended before its journal had ${text}`);
        await wait(5);
      }
      throw new Error(`the journal had not ${text} in time`);
    },
  };
}

export function readLog(folder: string): BenchLogEntry[] {
  const path = join(folder, "bench.ndjson");
  if (!existsSync(path)) return [];
  const lines = readFileSync(path, "utf8").split("\n");
  lines.pop();
  return lines.map((line) => JSON.parse(line) as BenchLogEntry);
}
