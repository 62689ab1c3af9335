/**
 * `holdfast attach`: come back to a run that another process makes, with the keys it has at its own
 * terminal. The picture comes from the journal; what is pressed goes through the run's socket. Leaving,
 * or any end of this command, leaves the run alone.
 */
import type { Clock } from "../clock/clock.ts";
import { createRealClock } from "../clock/real-clock.ts";
import type { RunWish, WishAnswer } from "../events/run-wish.ts";
import { type FollowEnd, followJournal } from "../journal/follow-journal.ts";
import { LEAVE } from "../screen/seat.ts";
import { nobodyWords } from "./attach/nobody.ts";
import { takeTyped } from "./attach/take-typed.ts";
import { untilTold } from "./attach/until-told.ts";
import { closedStatus } from "./closed-status.ts";
import { attachTo, type ControlLink } from "./control/control-link.ts";
import type { Environment } from "./control/control-place.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { wordsAtEnd } from "./follow.ts";
import { openReporter, type Reporter } from "./prove/reporter.ts";
import { createRunFeed, type RunFeed } from "./prove/run-feed.ts";
import { onStopSignals } from "./prove/stop-signals.ts";
import type { TellingOptions } from "./prove/telling-options.ts";
import type { StandardStreams } from "./standard-streams.ts";

export interface AttachOptions extends TellingOptions {
  /** Folder of the run. */
  readonly folder: string;
  readonly environment: Environment;
  /** Who is attached, as the journal of the run is to have it; empty where it cannot be told. */
  readonly from: string;
}

/** Lines that a slow reader may be behind. */
const WAITING_BYTES_MAX = 1024 * 1024;
/** What the run wrote last may still be on its way through the file system. */
const LAST_LINES_MS = 500;

/** @returns the run's own exit status; 4 when left before; 3 when its program is gone */
export async function attachCommand(
  options: AttachOptions,
  streams: StandardStreams,
): Promise<ExitStatus> {
  const clock = createRealClock();
  const attached = await attachTo({ ...options, clock });
  if (attached.kind === "attached")
    return new Attachment(options, streams, clock).stay(attached.link);
  if (attached.kind === "refused") {
    process.stderr.write(
      `holdfast: Expected to attach to the run in ${options.folder}, but ${attached.why}. To look on: holdfast follow ${options.folder}\n`,
    );
    return EXIT.trouble;
  }
  const { words, status } = nobodyWords(options.folder, clock.wallTime());
  for (const word of words) process.stderr.write(`${word}\n`);
  return status;
}

interface LeftAt {
  readonly link: ControlLink;
  readonly journal: string;
  readonly reporter: Reporter;
}

class Attachment {
  readonly #options: AttachOptions;
  readonly #streams: StandardStreams;
  readonly #clock: Clock;
  readonly #leaving = new AbortController();
  readonly #feed: RunFeed;
  #isGone = false;
  #isOver = false;

  constructor(options: AttachOptions, streams: StandardStreams, clock: Clock) {
    this.#options = options;
    this.#streams = streams;
    this.#clock = clock;
    this.#feed = createRunFeed((error) => {
      process.stderr.write(`Telling of the run failed (${String(error)}).\n`);
      this.#leave();
    });
  }

  async stay(link: ControlLink): Promise<ExitStatus> {
    const { output } = this.#options;
    const forget = onStopSignals(() => this.#leave());
    const reporter = await openReporter({
      options: this.#options,
      seat: "attached",
      feed: this.#feed,
      streams: this.#streams,
      clock: this.#clock,
      onStop: (key) => {
        if (key === LEAVE) this.#leave();
        else this.#hearAnswer(link.stop(key), (text) => reporter.notice(text));
      },
      onWish: (wish: RunWish) => {
        this.#hearAnswer(link.ask(wish), (text) => reporter.notice(text));
        return null;
      },
    });
    this.#streams.onTerminalGone(() => this.#leave());
    link.onNotice = (text) => reporter.notice(text);
    link.onChange = () => this.#look(link, reporter);
    const forgetTyped =
      output === "screen"
        ? () => undefined
        : takeTyped({
            link,
            feed: this.#feed,
            clock: this.#clock,
            say: reporter.notice,
            leave: () => this.#leave(),
          });
    try {
      // It may have gone between its greeting and here.
      this.#look(link, reporter);
      return await this.#follow(link, reporter);
    } finally {
      forgetTyped();
      forget();
      link.close();
      await reporter.close();
    }
  }

  #leave(): void {
    this.#leaving.abort();
  }

  #hearAnswer(answer: Promise<WishAnswer>, notice: (text: string) => void): void {
    void answer.then((text) => {
      if (text !== null) notice(text);
    });
  }

  /** The link is what tells a program that is gone from one that has nothing to write. */
  #look(link: ControlLink, reporter: Reporter): void {
    if (link.isOpen || link.ended !== null || this.#isGone) return;
    this.#isGone = true;
    this.#clock.setTimeout(() => {
      if (this.#isOver) return;
      reporter.silent({ ms: 0, isGone: true });
      // A screen keeps the picture until somebody has seen it; lines have said it by now.
      if (this.#options.output !== "screen") this.#leave();
    }, LAST_LINES_MS);
  }

  /** Through every run that takes over from the one before. */
  async #follow(link: ControlLink, reporter: Reporter): Promise<ExitStatus> {
    for (;;) {
      const journal = link.run?.journal ?? "";
      const end = await this.#followOne(journal, reporter);
      if (end.kind !== "closed") return this.#tellLeft(end, { link, journal, reporter });
      const next = await untilTold(link, journal, {
        clock: this.#clock,
        signal: this.#leaving.signal,
      });
      if (next === "next run") continue;
      this.#isOver = true;
      const run = this.#feed.snapshot();
      await reporter.finish(link.ended?.words ?? wordsAtEnd(run, journal));
      return closedStatus(run) ?? EXIT.trouble;
    }
  }

  #followOne(path: string, reporter: Reporter): Promise<FollowEnd> {
    return followJournal({
      path,
      clock: this.#clock,
      onEntry: (entry) => this.#feed.take(entry),
      onRetold: () => reporter.notice("The run took back lines that were never sealed."),
      onSilence: (ms) => {
        if (!this.#isGone) reporter.silent(ms === null ? null : { ms, isGone: false });
      },
      mayRead: () => {
        if (this.#streams.outputGone) this.#leave();
        return process.stdout.writableLength < WAITING_BYTES_MAX;
      },
      signal: this.#leaving.signal,
    });
  }

  async #tellLeft(
    end: Exclude<FollowEnd, { readonly kind: "closed" }>,
    { link, journal, reporter }: LeftAt,
  ): Promise<ExitStatus> {
    this.#isOver = true;
    await reporter.close();
    const { folder } = this.#options;
    if (this.#isGone) {
      for (const word of nobodyWords(folder, null).words) process.stderr.write(`${word}\n`);
      return EXIT.trouble;
    }
    if (end.kind === "left") {
      process.stderr.write(`Left. The run goes on; come back: holdfast attach ${folder}\n`);
      return EXIT.stopped;
    }
    const why = end.kind === "fault" ? end.error.message : `${journal} was moved or removed`;
    process.stderr.write(
      `holdfast: ${why}. The run is not stopped by that; its process is: kill ${link.run?.process}\n`,
    );
    return EXIT.trouble;
  }
}
