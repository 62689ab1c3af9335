/** Both shipped boards prove on the emulated bench, piped, through the program's own front door. */
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import type { JournalEntry } from "../../src/events/events.ts";
import type { FigureContext } from "./figure.ts";

const root = resolve(import.meta.dirname, "../..");

interface ProofMeasure {
  readonly exitStatus: number;
  readonly wallS: number;
  readonly simulatedS: number;
  readonly warmUpS: number;
  readonly disturbedHoldS: number;
}

export async function figure({ report, say }: FigureContext): Promise<void> {
  for (const board of ["flasher-latch", "fog-divider"]) {
    const measured = await prove(board);
    say(`${board}: ${JSON.stringify(measured)}`);
    const latch = board === "flasher-latch";
    const line = (what: string, value: number, unit: string, limit: string, holds: boolean): void =>
      report({
        name: `main-job ${board} ${what}`,
        value: Math.round(value * 100) / 100,
        unit,
        limit,
        holds,
      });
    line("exit status", measured.exitStatus, "status", "= 0", measured.exitStatus === 0);
    line("simulated warm-up", measured.warmUpS, "s", ">= 11", measured.warmUpS >= 11);
    if (latch) {
      line(
        "disturbed hold",
        measured.disturbedHoldS,
        "s",
        ">= 120",
        measured.disturbedHoldS >= 120,
      );
      line("wall time", measured.wallS, "s", "<= 25", measured.wallS <= 25);
    }
    const ratio = measured.simulatedS / measured.wallS;
    line("simulated to wall", ratio, "ratio", ">= 10", ratio >= 10);
  }
}

async function prove(board: string): Promise<ProofMeasure> {
  const runs = mkdtempSync(join(tmpdir(), "holdfast-figure-"));
  const begun = performance.now();
  const child = spawn(
    process.execPath,
    ["--import", "tsx", "src/main.ts", "prove", `sequences/${board}`, "--json", "--runs", runs],
    { cwd: root, stdio: ["ignore", "pipe", "inherit"] },
  );
  const exited = new Promise<number>((done) => child.once("exit", (code) => done(code ?? -1)));
  let simulatedMs = 0;
  let warmUpMs = 0;
  let disturbedMs = 0;
  for await (const text of createInterface({ input: child.stdout })) {
    const { ms, event } = JSON.parse(text) as JournalEntry;
    simulatedMs = ms;
    if (event.kind === "warm-up-ended" && event.warm) warmUpMs = event.tookMs;
    if (event.kind === "hold-progress" && event.part === "hold" && event.moves > 0) {
      disturbedMs = Math.max(disturbedMs, event.elapsedMs);
    }
  }
  const exitStatus = await exited;
  rmSync(runs, { recursive: true });
  return {
    exitStatus,
    wallS: (performance.now() - begun) / 1000,
    simulatedS: simulatedMs / 1000,
    warmUpS: warmUpMs / 1000,
    disturbedHoldS: disturbedMs / 1000,
  };
}
