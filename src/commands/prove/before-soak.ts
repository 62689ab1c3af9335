/**
 * What has to be right before a night and not after it: room on the disk, a clock that does not lie, and,
 * where nobody will be there, all that DESIGN asks of a bench that is left alone.
 */
import { readdirSync, statfsSync, statSync } from "node:fs";
import { join } from "node:path";
import type { Plan } from "../../events/plan.ts";
import type { SoakOrder } from "../../events/soak.ts";
import { estimatePassMs } from "../../plan/estimate.ts";
import { duration } from "../../plan/quantity-words.ts";
import { RELAY_CLOSINGS_LIFE, type SoakLoad, soakLoad } from "../../plan/soak-load.ts";
import { findRigChecks } from "../../store/rig-checks.ts";
import { attendedMs } from "../../store/run-index/attended.ts";
import { withFreshIndex } from "../history/fresh-index.ts";
import type { Proof } from "../proof-folder.ts";
import { UsageError } from "../usage-error.ts";

const HOUR_MS = 3_600_000;
/** On this set-up with somebody there, before it may be left alone. */
const ATTENDED_MS_MIN = 2 * HOUR_MS;
/** Left for everything else that writes to that disk. */
const SPARE_BYTES = 64 * 1024 * 1024;
/** Clocks of two computers, or a run that is being written now. */
const AHEAD_MS_MAX = 60_000;

/** What is to be said before it begins. @throws UsageError when it may not */
export async function beforeSoak(
  order: SoakOrder,
  given: {
    readonly proof: Proof;
    readonly runs: string;
    readonly wallMs: number;
    readonly isReal: boolean;
    /** When it was begun, of one that goes on; null begins one. */
    readonly begunWallMs: number | null;
  },
): Promise<string[]> {
  const { proof, runs, wallMs, isReal, begunWallMs } = given;
  const load = loadOf(order, proof.plan);
  requireRoom(load, runs);
  if (isReal) requireClock(runs, wallMs);
  if (order.attendance === "unattended" && isReal) {
    await requireUnattended(order, proof, { runs, wallMs, begunWallMs });
  }
  return loadLines(load);
}

function loadOf(order: SoakOrder, plan: Plan): SoakLoad {
  const releasedHigh = plan.lines.filter(({ releasedLevel }) => releasedLevel === "high");
  const cycleMs = estimatePassMs(order.cycle, 0);
  return soakLoad(order, cycleMs, new Set(releasedHigh.map(({ line }) => line)));
}

function loadLines({ cycles, longestMs, closings }: SoakLoad): string[] {
  const relays = Object.entries(closings).map(([line, count]) => {
    const part = (100 * count) / RELAY_CLOSINGS_LIFE;
    return `${line} ${count} closings (${part < 0.1 ? "below 0.1" : part.toFixed(1)} %)`;
  });
  return [
    `At most ${cycles} cycles in ${duration(longestMs)} warm and on power. Relays, with their share of ` +
      `${RELAY_CLOSINGS_LIFE / 1e6} million closings (common practice for small loads): ${relays.join(", ")}.`,
  ];
}

function requireRoom({ journalBytes }: SoakLoad, runs: string): void {
  let freeBytes: number;
  try {
    const { bavail, bsize } = statfsSync(existing(runs));
    freeBytes = bavail * bsize;
  } catch (error) {
    throw new UsageError(
      `Expected a disk for runs at "${runs}", but it cannot be asked for its room: ${String(error)}. Name another with --runs.`,
    );
  }
  if (freeBytes >= journalBytes + SPARE_BYTES) return;
  const mib = (bytes: number) => Math.ceil(bytes / 1024 / 1024);
  throw new UsageError(
    `Expected ${mib(journalBytes + SPARE_BYTES)} MiB free for the journal at "${runs}", there are ${mib(freeBytes)}. Free some, or name another folder with --runs.`,
  );
}

/** The folder is made when the run begins; until then its disk is that of the folder above. */
function existing(path: string): string {
  try {
    statSync(path);
    return path;
  } catch {
    return ".";
  }
}

/** Runs from the future: either they or this clock are wrong, and a night would be dated by it. */
function requireClock(runs: string, wallMs: number): void {
  const newestMs = Math.max(0, ...journalTimes(runs));
  if (newestMs <= wallMs + AHEAD_MS_MAX) return;
  throw new UsageError(
    `Expected this computer's clock to be right, but a journal under "${runs}" was written at ${new Date(newestMs).toISOString()} and now is ${new Date(wallMs).toISOString()}. Set the clock, or name another folder with --runs.`,
  );
}

function journalTimes(runs: string): number[] {
  let names: string[];
  try {
    names = readdirSync(runs);
  } catch {
    // No runs yet.
    return [];
  }
  return names.flatMap((name) => {
    const found = statSync(join(runs, name, "journal.ndjson"), { throwIfNoEntry: false });
    return found === undefined ? [] : [found.mtimeMs];
  });
}

/** Every condition that is not met, at once. */
async function requireUnattended(
  order: SoakOrder,
  { plan, rig }: Proof,
  {
    runs,
    ...when
  }: { readonly runs: string; readonly wallMs: number; readonly begunWallMs: number | null },
): Promise<void> {
  const missing: string[] = [];
  if (order.forMs === null) missing.push("a longest time: say --hours");
  if (rig.protection === undefined) {
    missing.push(
      "protection in the rig file: fuses, a thermal cut-out and an off switch, declared",
    );
  }
  const rigSha256 = plan.sources.find(({ role }) => role === "rig")?.sha256 ?? "";
  const { full } = findRigChecks(runs, { rig: plan.rig.name, board: plan.board.name });
  const isTested =
    full !== null &&
    full.check.rigSha256 === rigSha256 &&
    full.check.facts.deadMan !== null &&
    full.check.fit &&
    holdsStill(Date.parse(full.check.at), { ...when, forMs: order.forMs ?? 0 });
  if (!isTested) missing.push("a dead-man test of today: a full rig check of this rig, found fit");
  const doneMs = await attendedBefore({
    runs,
    rig: plan.rig.name,
    rigSha256,
    board: plan.board.name,
  });
  if (doneMs < ATTENDED_MS_MIN) {
    missing.push(
      `${ATTENDED_MS_MIN / HOUR_MS} h of soak with somebody there on this set-up; there are ${(doneMs / HOUR_MS).toFixed(1)} h`,
    );
  }
  if (missing.length === 0) return;
  throw new UsageError(
    `Expected all that a bench needs to be left alone, missing: ${missing.join("; ")}. See docs/soak.md; local codes and the advice of a licensed electrician come first.`,
  );
}

/**
 * A test of the day holds for all of a soak that was begun on it: for one that goes on as well, for as long as that
 * soak was to last from its beginning, however often it was broken off.
 */
function holdsStill(
  testedMs: number,
  {
    wallMs,
    begunWallMs,
    forMs,
  }: { readonly wallMs: number; readonly begunWallMs: number | null; readonly forMs: number },
): boolean {
  if (sameDay(testedMs, wallMs)) return true;
  if (begunWallMs === null || !sameDay(testedMs, begunWallMs)) return false;
  return wallMs >= begunWallMs && wallMs - begunWallMs <= forMs;
}

function attendedBefore({
  runs,
  ...setUp
}: {
  readonly runs: string;
  readonly rig: string;
  readonly rigSha256: string;
  readonly board: string;
}): Promise<number> {
  const io = {
    out: (line: string) => process.stderr.write(`${line}\n`),
    error: (line: string) => process.stderr.write(`${line}\n`),
  };
  return withFreshIndex(runs, io, (index) => attendedMs(index, setUp));
}

/** By this computer's own day. */
function sameDay(oneMs: number, otherMs: number): boolean {
  return new Date(oneMs).toDateString() === new Date(otherMs).toDateString();
}
