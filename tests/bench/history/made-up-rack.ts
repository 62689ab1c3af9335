/**
 * A rack of many units proved over months, made up from a seed: rows of the index, and for a sample of the
 * runs the journals themselves. Levels wander, tubes are changed now and then, a few units fail.
 */
import { mkdirSync, truncateSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { RunEvent } from "../../../src/events/events.ts";
import type { LevelClass } from "../../../src/events/levels.ts";
import type { ResultRow, RunFacts } from "../../../src/store/run-index/tables.ts";
import { guardedEvents } from "../../journal/guarded-run.ts";
import { writeRun } from "../../journal/write-run.ts";
import { factsOf } from "../../store/run-index/facts-of.ts";

const BOARDS = ["flasher-latch", "fog-divider", "blast-ring", "watch-adder"];
const NETS_OF_BOARD = [2, 4, 12, 8];
const DAY_MS = 86_400_000;
const FIRST_MS = Date.parse("2026-01-05T09:00:00Z");
const TUBE_CHANGE_SHARE = 0.03;
const FAIL_SHARE = 0.02;
/** Journals of proofs are some hundred kilobytes. */
const JOURNAL_BYTES = 400_000;

export interface RackRun {
  readonly run: string;
  readonly unit: string;
  readonly board: number;
  readonly serials: readonly string[];
  readonly openedMs: number;
  readonly fails: boolean;
  /** Drift of the unit's low levels so far, volts. */
  readonly wanderV: number;
}

/** Runs in the order of time: every unit once a round. */
export function rackRuns(
  { units, rounds }: { readonly units: number; readonly rounds: number },
  chance: () => number,
): RackRun[] {
  const rack = Array.from({ length: units }, (_, at) => ({
    unit: `LV-${String(at + 1).padStart(4, "0")}`,
    board: Math.floor(chance() * BOARDS.length),
    wanderV: 0,
    serials: [] as string[],
  }));
  let tubes = 0;
  const newTube = () => {
    tubes += 1;
    return `LV-T${String(tubes).padStart(5, "0")}`;
  };
  const runs: RackRun[] = [];
  for (let round = 0; round < rounds; round += 1) {
    for (const [at, unit] of rack.entries()) {
      const sockets = (NETS_OF_BOARD[unit.board] ?? 2) / 2;
      while (unit.serials.length < sockets) unit.serials.push(newTube());
      if (chance() < TUBE_CHANGE_SHARE) unit.serials[Math.floor(chance() * sockets)] = newTube();
      unit.wanderV += (chance() - 0.45) * 0.05;
      const openedMs = FIRST_MS + round * 7 * DAY_MS + at * 60_000;
      runs.push({
        run: `${new Date(openedMs).toISOString().slice(0, 19).replace("T", "-").replaceAll(":", "")}-${BOARDS[unit.board] ?? ""}`,
        unit: unit.unit,
        board: unit.board,
        serials: [...unit.serials],
        openedMs,
        fails: chance() < FAIL_SHARE,
        wanderV: unit.wanderV,
      });
    }
  }
  return runs;
}

/** @returns the rows of the run @param chance for the noise of its readings */
export function factsOfRackRun(made: RackRun, chance: () => number): RunFacts {
  const { run, unit, board, serials, openedMs, fails, wanderV } = made;
  const opened = new Date(openedMs).toISOString();
  const base = factsOf(
    {
      run,
      unit,
      board: BOARDS[board] ?? "",
      opened,
      openedMs,
      verdict: fails ? "fail" : "pass",
      uncertainty: "evaluated",
      bytes: JOURNAL_BYTES,
    },
    serials[0] ?? "",
  );
  const [place] = base.places;
  if (place === undefined) throw new Error("a made-up run has a socket");
  const nets = Array.from({ length: NETS_OF_BOARD[board] ?? 2 }, (_, at) => `N${at + 1}`);
  return {
    ...base,
    places: serials.map((serial, at) => ({ ...place, position: `V${at + 1}`, serial })),
    sections: nets.map((net, at) => ({
      run,
      position: `V${Math.floor(at / 2) + 1}`,
      section: at % 2 === 0 ? "a" : "b",
      stage: `V${Math.floor(at / 2) + 1}${at % 2 === 0 ? "a" : "b"}`,
      net,
      conductingMs: 70_000,
      cutOffMs: 70_000,
    })),
    results: nets.flatMap((net, at) =>
      (["low", "high"] as const).map((expected) =>
        resultOf({ run, channel: net, expected }, { fails: fails && at === 0, wanderV, chance }),
      ),
    ),
  };
}

function resultOf(
  which: { readonly run: string; readonly channel: string; readonly expected: LevelClass },
  given: { readonly fails: boolean; readonly wanderV: number; readonly chance: () => number },
): ResultRow {
  const low = which.expected === "low";
  const limitV = low ? 14.5 : 34.5;
  const fails = given.fails && low;
  const noiseV = (given.chance() - 0.5) * 0.1;
  const meanV = (low ? 11.5 + given.wanderV : 44) + noiseV + (fails ? 4 : 0);
  const worstV = low ? meanV + 0.3 : meanV - 0.6;
  return {
    ...which,
    kind: "net",
    count: 400,
    passed: fails ? 380 : 400,
    conditionallyPassed: 0,
    conditionallyFailed: 0,
    failed: fails ? 20 : 0,
    voided: 0,
    worstV,
    limitV,
    marginV: low ? limitV - worstV : worstV - limitV,
    worstExpandedV: low ? 0.23 : 0.75,
    meanV,
    sdV: 0.1,
    meanCount: 15,
    meanExpandedV: low ? 0.23 : 0.75,
  };
}

/** A folder as a run leaves it, with a journal of that size and nothing in it: for what only looks. */
export function putEmptyFolder(runsFolder: string, run: string): void {
  const folder = join(runsFolder, run);
  mkdirSync(folder, { recursive: true });
  const journal = join(folder, "journal.ndjson");
  writeFileSync(journal, "");
  truncateSync(journal, JOURNAL_BYTES);
}

/** A real journal of a run of the rack, sealed line by line. Its board is the latch whatever the rack's is. */
export function putJournal(runsFolder: string, made: RackRun): void {
  const { run, unit, serials, openedMs, wanderV, fails } = made;
  const wall = new Date(openedMs).toISOString();
  const events = guardedEvents(Math.min(13.4, 11.5 + wanderV), "pass").map((event): RunEvent => {
    if (event.kind === "run-closed") return { ...event, wall, verdict: fails ? "fail" : "pass" };
    if (event.kind !== "run-opened") return event;
    const tubes = [{ position: "V1", tube: "ECC82", serial: serials[0] ?? null }];
    return {
      ...event,
      unit,
      unitSheet: { unit, tubes, coldChecks: [] },
      bench: "/dev/ttyUSB0",
      wall,
      plan: { ...event.plan, board: { ...event.plan.board, name: BOARDS[made.board] ?? "" } },
    };
  });
  const folder = join(runsFolder, run);
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, "journal.ndjson"), writeRun(events).bytes);
}
