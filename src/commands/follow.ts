/**
 * `holdfast follow`: look on while another program makes a run. Reads its journal and nothing else;
 * no key, signal or end of this command reaches the run.
 */
import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import type { Clock } from "../clock/clock.ts";
import { createRealClock } from "../clock/real-clock.ts";
import type { FoldedRun } from "../journal/account.ts";
import { type FollowEnd, followJournal } from "../journal/follow-journal.ts";
import { closedStatus } from "./closed-status.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { closingWords } from "./prove/closing-words.ts";
import { openReporter, type Reporter } from "./prove/reporter.ts";
import { createRunFeed } from "./prove/run-feed.ts";
import { onStopSignals } from "./prove/stop-signals.ts";
import {
  type RawTellingOptions,
  readTellingOptions,
  type TellingOptions,
  type TellingSurroundings,
} from "./prove/telling-options.ts";
import { journalToFollow } from "./run-to-follow.ts";
import type { StandardStreams } from "./standard-streams.ts";

export interface FollowOptions extends TellingOptions {
  readonly journal: string;
}

export interface RawFollowOptions extends RawTellingOptions {
  readonly runs: string;
}

/** The same before the settings have filled it up. */
export type AskedFollowOptions = Omit<RawFollowOptions, "runs" | "word"> & {
  readonly runs?: string;
};

/** @throws UsageError */
export function readFollowOptions(
  given: string | undefined,
  raw: RawFollowOptions,
  surroundings: TellingSurroundings,
): FollowOptions {
  const telling = readTellingOptions(raw, surroundings);
  return { ...telling, journal: journalToFollow(given, raw.runs) };
}

/** Lines that a slow reader may be behind; a finished journal is read no faster than it is taken. */
const WAITING_BYTES_MAX = 1024 * 1024;
const NOT_REACHED = "Looking on: no key here reaches the run.";
const RETOLD = "The writer took back lines that were never sealed; the run is told again.";

/** @returns the run's own exit status, as from replay; 4 when left before the run was closed */
export async function followCommand(
  options: FollowOptions,
  streams: StandardStreams,
): Promise<ExitStatus> {
  const clock: Clock = createRealClock();
  const leaving = new AbortController();
  const leave = (): void => leaving.abort();
  const forget = onStopSignals(leave);
  const feed = createRunFeed((error) => {
    process.stderr.write(`Telling of the run failed (${String(error)}).\n`);
    leave();
  });
  let reporter: Reporter | null = null;
  streams.onTerminalGone(leave);
  try {
    reporter = await openReporter({
      options,
      seat: "looking on",
      feed,
      streams,
      clock,
      onStop: leave,
      onWish: () => NOT_REACHED,
    });
    const telling = reporter;
    const end = await followJournal({
      path: options.journal,
      clock,
      onEntry: (entry) => feed.take(entry),
      onRetold: () => telling.notice(RETOLD),
      onSilence: (ms) => telling.silent(ms === null ? null : { ms, isGone: false }),
      mayRead: () => {
        // Nobody reads what would be told: there is nothing left to do.
        if (streams.outputGone) leave();
        return process.stdout.writableLength < WAITING_BYTES_MAX;
      },
      signal: leaving.signal,
    });
    return await tellEnd({ end, run: feed.snapshot(), journal: options.journal, reporter });
  } finally {
    await reporter?.close();
    forget();
  }
}

interface Ended {
  readonly end: FollowEnd;
  readonly run: FoldedRun;
  readonly journal: string;
  readonly reporter: Reporter;
}

async function tellEnd({ end, run, journal, reporter }: Ended): Promise<ExitStatus> {
  if (end.kind === "closed") {
    await reporter.finish(wordsAtEnd(run, journal));
    return closedStatus(run) ?? EXIT.trouble;
  }
  await reporter.close();
  switch (end.kind) {
    case "left":
      process.stderr.write(`Left. The run is not stopped by that. Journal: ${journal}\n`);
      return EXIT.stopped;
    case "gone":
      process.stderr.write(
        `holdfast: Expected the journal ${journal} to stay, but it was moved or removed. ` +
          "Nothing is known of the run since; treat every rail as live until measured by hand. " +
          "Follow it under its new name.\n",
      );
      return EXIT.trouble;
    case "fault":
      process.stderr.write(`holdfast: ${end.error.message}\n`);
      return EXIT.wrongUsage;
  }
}

/** Of a run that another program made. */
export function wordsAtEnd(run: FoldedRun, journal: string): string[] {
  const record = join(dirname(journal), "record.json");
  const words = closingWords(
    run,
    {
      journal,
      record: existsSync(record) ? record : null,
      rig: run.plan?.rig.name ?? "",
      blocked: false,
    },
    null,
  );
  const keptOn = run.rails.filter(({ fall }) => fall === "kept on").map(({ rail }) => rail);
  return keptOn.length === 0
    ? words
    : [
        ...words,
        `Still ON for the next run: ${keptOn.join(", ")}. To look on at that one: holdfast follow`,
      ];
}
