/**
 * Who tells the person what happens: the screen, plain lines or JSON lines. Whatever goes wrong
 * in telling is said once and never reaches the run.
 */
import type { Clock } from "../../clock/clock.ts";
import type { RunWish, WishAnswer } from "../../events/run-wish.ts";
import { jsonLine, plainLine } from "../../screen/plain-lines.ts";
import type { Seat } from "../../screen/seat.ts";
import { type Silence, silenceSentence } from "../../screen/silence.ts";
import { wrapWords } from "../../screen/text-line.ts";
import type { StandardStreams } from "../standard-streams.ts";
import { createLineOutput, type LineOutput } from "./line-output.ts";
import { openPatientTerminal } from "./patient-terminal.ts";
import type { RunFeed } from "./run-feed.ts";
import type { TellingOptions } from "./telling-options.ts";

export interface Reporter {
  /** A sentence outside the run: before it begins, or after it has ended. */
  say(text: string): void;
  /** A sentence for the person while the run goes on, such as why a wish was refused. */
  notice(text: string): void;
  /** Nothing is heard any more of a run that another program makes; null when it goes on. */
  silent(silence: Silence | null): void;
  /** How one run ended, while the next one goes on. */
  between(words: readonly string[]): void;
  /** Stop drawing and give the terminal back. Safe to call twice. */
  close(): Promise<void>;
  /** Close, leave the last picture on the terminal, and say how it ended. */
  finish(words: readonly string[]): Promise<void>;
}

export interface ReporterOptions {
  readonly options: TellingOptions;
  /** At the run's own terminal when missing. */
  readonly seat?: Seat;
  readonly feed: RunFeed;
  readonly streams: StandardStreams;
  /** Real time. */
  readonly clock: Clock;
  readonly onStop: (key: string) => void;
  /** Null when the wish was taken, else why not. */
  readonly onWish: (wish: RunWish) => WishAnswer;
}

/** Exit status line of a shell's prompt, and the prompt. */
const PROMPT_ROWS = 2;

export async function openReporter(given: ReporterOptions): Promise<Reporter> {
  const { output } = given.options;
  const lines = createLineOutput({
    stream: process.stdout,
    gone: () => given.streams.outputGone,
    leftOutLine:
      output === "json" ? null : (count) => `(${count} lines left out: the reader was too slow)`,
  });
  if (output === "screen") return openScreenReporter(given, lines);
  return openLineReporter(given, lines);
}

function openLineReporter({ options, feed }: ReporterOptions, lines: LineOutput): Reporter {
  const json = options.output === "json";
  const stop = feed.onEntry((entry, snapshot) => {
    const line = json ? jsonLine(entry) : plainLine(entry, snapshot);
    if (line !== null) lines.write(line);
  });
  // Standard output of --json carries events only, so that a program can read it.
  const say = (text: string): void => {
    if (json) process.stderr.write(`${text}\n`);
    else lines.write(text);
  };
  return {
    say,
    notice: say,
    silent: tellSilenceOnce(say),
    between(words) {
      for (const word of words) say(word);
    },
    close: async () => stop(),
    async finish(words) {
      stop();
      for (const word of words) say(word);
    },
  };
}

function tellSilenceOnce(say: (text: string) => void): (silence: Silence | null) => void {
  let isTold = false;
  return (silence) => {
    if (silence === null) say("The journal is being written to again.");
    else if (!isTold || silence.isGone) say(silenceSentence(silence));
    isTold = silence !== null;
  };
}

async function openScreenReporter(given: ReporterOptions, lines: LineOutput): Promise<Reporter> {
  const { options, feed, clock } = given;
  const { ascii, colour } = options;
  // React keeps a record of every render for ever unless this is set before it is loaded.
  process.env["NODE_ENV"] = "production";
  const { renderScreen, lastPicture } = await import("../../screen/render-screen.tsx");
  const patient = openPatientTerminal(process.stdout, clock, given.streams.loseTerminal);
  let fallback: Reporter | null = null;
  const screen = renderScreen({
    feed,
    clock,
    stdout: patient?.stream ?? process.stdout,
    stdin: process.stdin,
    ascii,
    colour,
    muted: options.muted,
    seat: given.seat ?? "own",
    onStop: given.onStop,
    onWish: given.onWish,
    onDrawingFault(error) {
      fallback = openLineReporter(given, lines);
      fallback.say(`The screen failed (${error.message}). The run goes on, in plain lines.`);
    },
  });
  let closed = false;
  const close = async (): Promise<void> => {
    if (closed) return;
    closed = true;
    screen.close();
    await patient?.close();
    await fallback?.close();
  };
  return {
    say: lines.write,
    notice: (text) => (fallback === null ? screen.notice(text) : fallback.notice(text)),
    silent: (silence) => (fallback === null ? screen : fallback).silent(silence),
    between(words) {
      if (fallback !== null) fallback.between(words);
      else screen.notice(`The run before: ${words[0] ?? ""}`);
    },
    close,
    async finish(words) {
      await close();
      const { columns, rows } = process.stdout;
      const said = words.flatMap((word) => wrapWords(word, columns));
      // Picture, words and the prompt that follows stand on one screen: the verdict is never lost.
      const left = rows - said.length - PROMPT_ROWS;
      if (fallback === null) {
        lines.write(lastPicture(feed.snapshot(), { columns, rows: left }, { ascii, colour }));
      }
      for (const row of said) lines.write(row);
    },
  };
}
