/**
 * A soak on the bench for nights, its program killed several times wherever its journal had grown to, and gone on
 * with each time. The bench dies with the program; what is judged are the bytes that were left.
 */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import { recordedRun } from "../../../src/commands/recorded-run.ts";
import type { JournalEntry } from "../../../src/events/events.ts";
import { JournalReadError } from "../../../src/journal/journal-fault.ts";
import { seededChance } from "../seeded-chance.ts";
import { entriesOf, journalBelow, sizeOf } from "./journal-of.ts";
import { Program } from "./program.ts";

const BOARD = "sequences/flasher-latch";
const CYCLES = 8000;
const KILLS_MAX = 3;
/** From the opening line on, and for as long as such a journal grows. */
const FIRST_BYTES = 2000;
const GROWTH_BYTES = 90_000;
const LOOK_MS = 1;
const LONGEST_MS = 60_000;
/** As its sequence has it: no more cycles fit into a leg than its time has room for. */
const EVERY_MS = 500;
/** The clock of this bench begins anew with each program; only lines from before that moment tell a gap. */
const CLOCK_TELLS_MS = 1000;
const FOUND_MAX = 3;

export interface Killed {
  readonly kills: number;
  readonly wrong: readonly string[];
  /** Times that it was begun anew because the computer had no time for it. */
  readonly stalls?: number;
}

export async function killAtNight(seed: number): Promise<Killed> {
  const runs = mkdtempSync(join(tmpdir(), "holdfast-kill-"));
  const wrong: string[] = [];
  const kept: Buffer[] = [];
  const chance = seededChance(`night ${seed}`);
  try {
    let program = new Program([
      ...["soak", BOARD, "--night", "--seed", String(seed), "--cycles", String(CYCLES)],
      ...["--go-on-after", "crash", "--plain", "--mute", "--runs", runs],
    ]);
    const kills = 1 + Math.floor(chance() * KILLS_MAX);
    for (let left = kills; left > 0; left -= 1) {
      const begun = sizeOf(journalBelow(runs));
      const atBytes = begun + FIRST_BYTES + chance() * GROWTH_BYTES;
      if (!(await grownTo(atBytes, runs, program))) break;
      program.kill();
      await program.ended();
      const journal = journalBelow(runs);
      if (journal === null) return { kills: 0, wrong: ["killed before there was a journal"] };
      kept.push(wholeLines(readFileSync(journal)));
      // As it stands, with its torn end: a person may look at it before anybody goes on.
      entriesOf(journal);
      program = new Program([
        ...["soak", BOARD, "--night", "--seed", String(seed), "--plain", "--mute"],
        ...["--runs", runs, "--go-on"],
      ]);
      if (left === 1) wrong.push(...(await second(runs, kept, program)));
    }
    const status = await program.ended();
    if (status !== 0) wrong.push(`ended with ${status}: ${program.said.trim().split("\n").at(-1)}`);
    wrong.push(...wrongLines(runs, kept));
    return { kills: kept.length, wrong };
  } catch (error) {
    if (!(error instanceof JournalReadError)) throw error;
    return { kills: kept.length, wrong: [...wrong, `journal not readable: ${error.message}`] };
  } finally {
    rmSync(runs, { recursive: true, force: true });
  }
}

/** @returns false when the program ended before it came so far */
async function grownTo(bytes: number, runs: string, program: Program): Promise<boolean> {
  let hasEnded = false;
  void program.ended().then(() => {
    hasEnded = true;
  });
  const untilMs = performance.now() + LONGEST_MS;
  while (!hasEnded && performance.now() < untilMs) {
    if (sizeOf(journalBelow(runs)) >= bytes) return true;
    await wait(LOOK_MS);
  }
  return false;
}

/** Somebody else asks to go on while the one that was let in is at work. */
async function second(runs: string, kept: readonly Buffer[], program: Program): Promise<string[]> {
  const isAtWork = await grownTo((kept.at(-1)?.length ?? 0) + FIRST_BYTES, runs, program);
  if (!isAtWork) return [];
  const other = new Program(["soak", BOARD, "--night", "--plain", "--runs", runs, "--go-on"]);
  const status = await other.ended();
  return status === 2 && /is writing it|it was closed/.test(other.said)
    ? []
    : [`a second program was let in: status ${status}, ${other.said.trim()}`];
}

function wholeLines(bytes: Buffer): Buffer {
  return bytes.subarray(0, bytes.lastIndexOf("\n") + 1);
}

function wrongLines(runs: string, kept: readonly Buffer[]): string[] {
  const journal = journalBelow(runs);
  if (journal === null) return ["no journal is left"];
  const wrong: string[] = [];
  const bytes = readFileSync(journal);
  for (const [at, before] of kept.entries()) {
    if (!bytes.subarray(0, before.length).equals(before)) {
      wrong.push(`lines that stood there at kill ${at + 1} are gone or changed`);
    }
  }
  const { counted, legs, found } = wrongCounts(entriesOf(journal));
  wrong.push(...found.slice(0, FOUND_MAX));
  if (counted !== CYCLES) wrong.push(`${counted} cycles are counted, ${CYCLES} were ordered`);
  // Killed right after its opening line, the first program had begun no leg.
  const first = kept[0]?.includes('"leg-begun"') === false ? 0 : 1;
  if (legs !== first + kept.length) wrong.push(`${legs} legs after ${kept.length} kills`);
  const { record } = recordedRun(journal);
  if (record.verdict !== "pass") wrong.push(`the record says ${record.verdict}`);
  const gaps = record.gaps.filter((gap) => /\bleg \d+ began\b/.test(gap)).length;
  if (gaps !== kept.length) wrong.push(`${gaps} of ${kept.length} gaps are in the record`);
  return wrong;
}

/**
 * Of every leg: the first tally counts what its time since it began to cycle had room for, no later one counts more
 * or goes back, and no gap is claimed that no clock can tell.
 */
function wrongCounts(entries: readonly JournalEntry[]): {
  counted: number;
  legs: number;
  found: string[];
} {
  const found: string[] = [];
  let counted = 0;
  let legs = 0;
  let base = 0;
  let cyclingMs: number | null = null;
  let isFirst = true;
  let lastMs = 0;
  for (const { n, ms, event } of entries) {
    if (event.kind === "leg-begun") {
      legs += 1;
      base = counted;
      cyclingMs = null;
      isFirst = true;
      if (event.why !== "first" && lastMs > CLOCK_TELLS_MS && event.gapMs !== null)
        found.push(`leg ${event.leg} states a gap of ${event.gapMs} ms, no clock tells it`);
    } else if (event.kind === "phase" && event.phase === "soaking") cyclingMs ??= ms;
    else if (event.kind === "soak-tally") {
      const { cycles, unjudged } = event.counts;
      if (cycles + unjudged < counted) found.push(`line ${n + 1} counts back`);
      counted = cycles + unjudged;
      const here = counted - base;
      const room = cyclingMs === null ? 0 : Math.floor((ms - cyclingMs) / EVERY_MS);
      // Later ones may stand in the midst of a period whose cycle is over.
      if (isFirst ? here !== room : here > room + 1)
        found.push(`line ${n + 1} counts ${here} cycles in its leg, its time had room for ${room}`);
      isFirst = false;
    }
    lastMs = ms;
  }
  return { counted, legs, found };
}
