/** Whether a soak survived, judged from what the bench saw and from the bytes of its journal; never from its word. */
import { readFileSync } from "node:fs";
import { recordedRun } from "../../../src/commands/recorded-run.ts";
import type { JournalEntry } from "../../../src/events/events.ts";
import type { RailName } from "../../../src/events/levels.ts";
import { scanJournal } from "../../../src/journal/scan-journal.ts";
import type { RunEnd } from "../../../src/run/start-run.ts";
import type { Mishap } from "./mishaps.ts";
import type { Synced } from "./torn-disk.ts";
import type { Witness } from "./witness.ts";

export interface Ended {
  readonly mishap: Mishap;
  /** When it struck, of the bench; null when the run was over before. */
  readonly struck: {
    readonly ms: number;
    readonly railsOn: readonly RailName[];
    /** How long plate had been on, Infinity when it was not. */
    readonly plateOnMs: number;
  } | null;
  readonly ends: readonly (RunEnd | "died" | "late")[];
  /** Why it was not gone on with afterwards, null when it was. */
  readonly refusal: string | null;
  /** Cycles that the program was told were counted, by its end or by the first time it was gone. */
  readonly told: number;
  readonly journal: string;
  readonly synced: readonly Synced[];
  readonly witness: Witness;
  readonly benchMs: number;
  readonly wallStepMs: number;
  /** By how much the bench's time fell behind real time while nobody was there: a paced bench does not catch up. */
  readonly behindMs: number;
}

export interface Judged {
  readonly legs: number;
  readonly counted: number;
  readonly wrong: readonly string[];
}

interface Line {
  readonly entry: JournalEntry;
  /** When it was on the medium, of the bench. */
  readonly ms: number;
}

/** What a program takes from its start to its first line: connecting and looking at the rails. */
const GAP_SHORT_MS = 3000;
/** With every rail off nobody has to be fed, and a supply that goes astray is refused by the leg that follows. */
const HARMLESS_AT_REST: ReadonlySet<string> = new Set(["trip", "held up", "asleep"]);
/** From a switching to its line on the medium. */
const UNTOLD_MS = 50;
/** A gap counts from when the last line was written; it was on the medium some time later, with others. */
const GAP_LONG_MS = 20_000;
/** A leg of whose like there are several without any mishap. */
function isOfCourse(why: string): boolean {
  return why === "first" || why === "power cycle";
}

/** What may be written while everything is off. */
const BETWEEN_LEGS = new Set(["clock-step", "phase", "remark"]);
const LINES = { set: "SET", reset: "RESET" };

export function judge(ended: Ended): Judged {
  const { witness, benchMs, ends, mishap } = ended;
  const wrong = witness.unsafe.map((one) => `unsafe: ${one}`);
  if (ends.includes("late")) wrong.push("did not end");
  const live = witness.live(benchMs);
  if (live.length > 0) wrong.push(`at the end ${live.join(", ")}`);
  if (witness.railsOn().length > 0) wrong.push(`${witness.railsOn().join(", ")} driven at the end`);
  let lines: Line[];
  try {
    lines = readLines(ended);
  } catch (error) {
    return { legs: 0, counted: 0, wrong: [...wrong, `journal not readable: ${String(error)}`] };
  }
  const { found, counted } = wrongCounts(lines, witness);
  wrong.push(...found);
  const sealed = (ends[0] === "died" ? sealedAtDeath(lines) : null) ?? counted;
  if (sealed < ended.told) wrong.push(`${ended.told} cycles were told, ${sealed} were sealed`);
  const legs = lines.filter(({ entry }) => entry.event.kind === "leg-begun").length;
  wrong.push(...wrongGaps(lines, ended), ...wrongCourse(lines, ended));
  wrong.push(...wrongPowerCycles(lines, ended));
  if (mishap.outcome === "unmoved" && ended.struck !== null) {
    const steps = lines.filter(({ entry }) => entry.event.kind === "clock-step");
    if (steps.length === 0) wrong.push("no word of the clock that was set");
  }
  return { legs, counted, wrong };
}

function readLines({ journal, synced }: Ended): Line[] {
  const bytes = readFileSync(journal);
  const ends: number[] = [];
  for (let at = bytes.indexOf(10); at !== -1; at = bytes.indexOf(10, at + 1)) ends.push(at + 1);
  const lines: Line[] = [];
  scanJournal(journal, (entry) => {
    const end = ends[lines.length] ?? 0;
    lines.push({ entry, ms: synced.find((one) => one.bytes >= end)?.ms ?? Number.NaN });
  });
  return lines;
}

/**
 * Of every tally: as many cycles as the bench was driven through since the leg began to cycle, but for the one
 * before that nobody judges, and for one that was broken off before it was counted.
 */
function wrongCounts(
  lines: readonly Line[],
  witness: Witness,
): { found: string[]; counted: number } {
  const found: string[] = [];
  let counted = 0;
  let base = 0;
  let cyclingMs: number | null = null;
  for (const { entry, ms } of lines) {
    const { event } = entry;
    if (event.kind === "leg-begun") {
      base = counted;
      cyclingMs = null;
    } else if (event.kind === "phase" && event.phase === "soaking") cyclingMs ??= ms;
    else if (event.kind === "soak-tally") {
      const { cycles, unjudged } = event.counts;
      counted = cycles + unjudged;
      const driven = cyclingMs === null ? 0 : witness.cycles(LINES, cyclingMs, ms) - 1;
      const here = counted - base;
      if (here > driven || here < driven - 1) {
        found.push(`line ${entry.n + 1} counts ${here} cycles in its leg, ${driven} were driven`);
      }
    }
  }
  return { found: found.slice(0, 3), counted };
}

/** What was counted when the program was gone; null when it never was, or nothing went on afterwards. */
function sealedAtDeath(lines: readonly Line[]): number | null {
  let counted = 0;
  for (const { entry } of lines) {
    const { event } = entry;
    if (event.kind === "soak-tally") counted = event.counts.cycles + event.counts.unjudged;
    if (event.kind !== "leg-begun") continue;
    if (event.why === "host crash" || event.why === "mains cut") return counted;
  }
  return null;
}

/** What a gap counts from. A leg that was broken off ends with whatever it wrote last. */
function lastOfLeg(lines: readonly Line[]): Line | undefined {
  const edge = lines.findLast(({ entry: { event } }) => /^leg-/.test(event.kind));
  return edge?.entry.event.kind === "leg-ended"
    ? lines.findLast(({ entry }) => !BETWEEN_LEGS.has(entry.event.kind))
    : lines.at(-1);
}

/** Every leg but the first says for how long nothing was written, and what was torn off. */
function wrongGaps(lines: readonly Line[], ended: Ended): string[] {
  const found: string[] = [];
  for (const [index, { entry, ms }] of lines.entries()) {
    const { event } = entry;
    if (event.kind !== "leg-begun" || isOfCourse(event.why)) continue;
    const before = lastOfLeg(lines.slice(0, index));
    const trueMs = ms - (before?.ms ?? 0);
    const stepped = ended.mishap.strike === "killed, clock back";
    if (stepped) {
      if (event.gapMs !== null)
        found.push(`a gap of ${event.gapMs} ms by a clock that was set back`);
    } else if (
      event.gapMs === null ||
      event.gapMs < trueMs - GAP_SHORT_MS ||
      event.gapMs > trueMs + ended.behindMs + GAP_LONG_MS
    ) {
      found.push(
        `leg ${event.leg} states a gap of ${event.gapMs} ms, it was ${Math.round(trueMs)}`,
      );
    }
  }
  const goneOn = lines.filter(
    ({ entry: { event } }) => event.kind === "leg-begun" && !isOfCourse(event.why),
  ).length;
  const { record } = recordedRun(ended.journal);
  const printed = record.gaps.filter((gap) => /\bleg \d+ began\b/.test(gap)).length;
  if (printed !== goneOn) found.push(`${printed} of ${goneOn} gaps are in the record`);
  return found;
}

/** Plate came on as often as is counted, but for once that the journal was cut off from, or had no time to tell. */
function wrongPowerCycles(lines: readonly Line[], { struck, witness }: Ended): string[] {
  const tally = lines.findLast(({ entry }) => entry.event.kind === "soak-tally");
  if (tally?.entry.event.kind !== "soak-tally") return [];
  const { powerCycles } = tally.entry.event.counts;
  const cameOn = witness.timesOn("plate", tally.ms);
  const untold = struck !== null && struck.plateOnMs < UNTOLD_MS ? 1 : 0;
  return cameOn === powerCycles || cameOn === powerCycles + untold
    ? []
    : [`${powerCycles} power cycles are counted, plate came on ${cameOn} times`];
}

function wrongCourse(lines: readonly Line[], ended: Ended): string[] {
  const { mishap, struck, ends, refusal, witness } = ended;
  const found: string[] = [];
  if (struck === null) return ["the mishap came too late"];
  const last = lines.at(-1)?.entry.event;
  const end = ends.at(-1);
  const cause = end === undefined || typeof end === "string" ? String(end) : end.cause;
  for (const { entry } of lines) {
    const { event } = entry;
    if (event.kind !== "leg-begun" || isOfCourse(event.why)) continue;
    const isChosen = mishap.chosen.some((one) => one === event.why);
    if (!isChosen) found.push(`went on after a ${event.why}, not chosen`);
  }
  const raisedLater = witness.outputs.some(
    ({ ms, mask }, at) =>
      ms > struck.ms + 1500 &&
      witness.railsOn(mask).length > witness.railsOn(witness.outputs[at - 1]?.mask ?? 0).length,
  );
  // A supply that goes astray before its rail is raised trips nothing: that rail is refused in its turn.
  const wasOn = struck.railsOn.includes(mishap.strike === "trip" ? "plate" : "heater");
  // What strikes after the last cycle finds the soak over, whatever was chosen.
  const begun = lines.flatMap(({ entry: { event }, ms }) =>
    event.kind === "leg-begun" ? [{ why: event.why, ms }] : [],
  );
  const later = begun.filter(({ ms }) => ms > struck.ms);
  const lastTally = lines.findLast(({ entry }) => entry.event.kind === "soak-tally");
  const isOver = cause === "completed" && (lastTally?.ms ?? 0) <= struck.ms;
  if (mishap.outcome === "stays off") {
    const wentOn = later.find(({ why }) => !isOfCourse(why));
    if (wentOn !== undefined) found.push(`went on after a ${wentOn.why}, ${cause}`);
    const isNone = !wasOn && HARMLESS_AT_REST.has(mishap.strike);
    if (raisedLater && !isNone) found.push("a rail was raised again");
    if (wasOn && refusal === null) found.push("was let go on afterwards");
  } else if (mishap.outcome === "goes on") {
    if (wasOn && later.length === 0 && !isOver)
      found.push(`did not go on: ${cause}; ${refusal ?? "no refusal"}`);
    if (wasOn && last?.kind !== "run-closed") found.push("the journal was not closed");
    if (wasOn && cause !== "completed" && ends[0] === "died") found.push(`ended with ${cause}`);
  } else if (begun.some(({ why }) => !isOfCourse(why)) || cause !== "completed") {
    found.push(`${begun.map(({ why }) => why).join(", ")}, ended with ${cause}`);
  }
  return found;
}
