/**
 * A soak that was broken off, read back from its journal: what it counted, and whether it may go on. The
 * choice to go on stands in the journal itself, made before the first rail came on.
 */
import { basename, dirname } from "node:path";
import type { JournalEntry } from "../../events/events.ts";
import type { GoOnAfter, SoakOrder } from "../../events/soak.ts";
import type { FoldedRun } from "../../journal/account.ts";
import { foldEvent, initialSnapshot } from "../../journal/fold.ts";
import type { SealedSoFar } from "../../journal/open-journal.ts";
import { type JournalEnd, scanJournal } from "../../journal/scan-journal.ts";
import type { Proof } from "../proof-folder.ts";
import { journalToFollow } from "../run-to-follow.ts";
import { UsageError } from "../usage-error.ts";

export interface BrokenOffSoak {
  /** Name of the run: that of its folder. */
  readonly name: string;
  readonly folder: string;
  readonly journalPath: string;
  readonly folded: FoldedRun;
  readonly order: SoakOrder;
  readonly sealed: SealedSoFar;
  readonly tornBytes: number;
  /** Wall time of the last sealed line, ms since 1970, by the last time a line told it. */
  readonly lastWallMs: number;
}

/** Ends of a leg after which nothing goes on, whatever was chosen. */
const NEVER_AFTER = new Set<string>([
  "trip",
  "supply refused",
  "rig unfit",
  "steady error",
  "internal fault",
]);

/**
 * @param given a run folder or a journal; the newest run under `runs` when it is empty
 * @throws UsageError when it may not go on, with why; JournalReadError
 */
export function readBrokenOffSoak(given: string | undefined, runs: string): BrokenOffSoak {
  const journalPath = journalToFollow(given, runs);
  const wall = new WallOfLines();
  let folded = initialSnapshot();
  let isTripped = false;
  let lastMs = 0;
  const end = scanJournal(journalPath, (entry) => {
    folded = foldEvent(folded, entry);
    lastMs = entry.ms;
    wall.take(entry);
    const { event } = entry;
    if (event.kind === "leg-begun") isTripped = false;
    if (event.kind === "controller-event" && event.event === "tripped") isTripped = true;
  });
  const order = orderOf(folded, journalPath);
  if (isTripped) throw refusal(journalPath, "its last leg ended with a trip");
  return {
    name: folded.opened?.run ?? basename(dirname(journalPath)),
    folder: dirname(journalPath),
    journalPath,
    folded,
    order,
    sealed: sealedOf(end, lastMs),
    tornBytes: end.torn?.bytes ?? 0,
    lastWallMs: wall.atMs(lastMs),
  };
}

function sealedOf({ lines, bytes, lastHash }: JournalEnd, lastMs: number): SealedSoFar {
  return { lines, bytes, lastHash, lastMs };
}

function orderOf({ soak, cause }: FoldedRun, path: string): SoakOrder {
  if (soak === undefined) throw refusal(path, "it is no soak");
  if (cause !== null) throw refusal(path, `it was closed: ${cause}`);
  const chosen = soak.order.goOn.filter((one) => one !== "link lost");
  if (chosen.length === 0) {
    throw refusal(path, "going on after a crash or a cut was not chosen when it began");
  }
  const last = soak.legs.at(-1)?.end ?? null;
  if (last !== null && NEVER_AFTER.has(last.cause)) {
    throw refusal(path, `its last leg ended with: ${last.cause}`);
  }
  return soak.order;
}

function refusal(path: string, why: string): UsageError {
  return new UsageError(
    `Expected a soak that may go on in ${path}, but ${why}. Begin a new one when you have looked at the bench.`,
  );
}

/** Files now must be those the soak began with: limits that move under a count make it worth nothing. */
export function requireSameFiles({ folded, journalPath }: BrokenOffSoak, { plan }: Proof): void {
  const before = folded.plan?.sources ?? [];
  const changed = before.filter(
    ({ role, sha256 }) =>
      role !== "calibration" &&
      plan.sources.find((source) => source.role === role)?.sha256 !== sha256,
  );
  if (changed.length === 0) return;
  throw new UsageError(
    `Expected the files that ${journalPath} began with, but ${changed.map(({ name }) => name).join(" and ")} changed. Put them back, or begin a new soak.`,
  );
}

/**
 * What the soak goes on after, by what the controller says of the time in between.
 *
 * @param hostRestarted whether this computer was started within that time
 * @throws UsageError when nobody can say, or that cause was not chosen
 */
export function causeOfBreak(
  { folded, order, journalPath }: BrokenOffSoak,
  now: { readonly resetCause: string; readonly bootCount: number; readonly isTripped: boolean },
  hostRestarted: boolean,
): GoOnAfter {
  if (now.isTripped) throw refusal(journalPath, "a trip is latched in the controller");
  const restarts = now.bootCount - (folded.controller?.bootCount ?? now.bootCount);
  const why = whyOf({ restarts, resetCause: now.resetCause, hostRestarted });
  if (why === null) {
    throw refusal(
      journalPath,
      `the controller restarted ${restarts} times meanwhile, last by ${now.resetCause}, and nobody knows why`,
    );
  }
  if (order.goOn.includes(why)) return why;
  throw refusal(journalPath, `it was a ${why}, and going on after one was not chosen`);
}

/** Opening the port restarts many boards by itself (EXT): one restart of that kind is ours. */
function whyOf(facts: {
  readonly restarts: number;
  readonly resetCause: string;
  readonly hostRestarted: boolean;
}): GoOnAfter | null {
  const { restarts, resetCause, hostRestarted } = facts;
  if (resetCause === "POR" && restarts > 0) return "mains cut";
  if (restarts === 0 || (restarts === 1 && resetCause === "EXT")) return "host crash";
  // Power came back, and then this opening of the port restarted it once more.
  return restarts === 2 && resetCause === "EXT" && hostRestarted ? "mains cut" : null;
}

/** Wall time of any line, from the lines that tell it. */
class WallOfLines {
  #wallMs = Number.NaN;
  #ms = 0;

  take({ ms, event }: JournalEntry): void {
    if (!("wall" in event)) return;
    this.#wallMs = Date.parse(event.wall);
    this.#ms = ms;
  }

  atMs(ms: number): number {
    return this.#wallMs + (ms - this.#ms);
  }
}
