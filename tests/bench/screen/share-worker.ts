/** In a process of its own: the screen on a terminal that takes everything, and the clock of cores. */
import { PassThrough, Writable } from "node:stream";
import { createRealClock } from "../../../src/clock/real-clock.ts";
import { createRunFeed } from "../../../src/commands/prove/run-feed.ts";
import { readJournal } from "../../../src/journal/read-journal.ts";

export interface ShareJob {
  readonly journal: string;
  readonly forMs: number;
  readonly screen: boolean;
}

export interface ShareResult {
  /** Percent of one core, user and system. */
  readonly percent: number;
  readonly framesPerSecond: number;
}

/** Compilers and caches have warmed by then. */
const WARM_UP_MS = 5_000;
/** The run is played faster than it was, so that every frame has something new. */
const SPEED = 8;
/** Often enough that no frame waits for a change. */
const FEED_EVERY_MS = 50;
const SIZE = { columns: 132, rows: 43 };
const FRAME_END = "\u001b[?2026l";

process.once("message", (job: ShareJob) => {
  measure(job).then((result) => process.send?.(result));
});

async function measure({ journal, forMs, screen }: ShareJob): Promise<ShareResult> {
  const clock = createRealClock();
  const feed = createRunFeed((error) => {
    throw error;
  });
  const { entries } = readJournal(journal);
  const begin = entries.findIndex(({ event }) => event.kind === "step-begun");
  for (const entry of entries.slice(0, begin)) feed.take(entry);
  const played = entries.slice(begin);
  const stdout = new NullTerminal();
  const close = screen ? await openScreen(feed, stdout) : () => undefined;

  const startMs = clock.nowMs();
  const firstMs = played[0]?.ms ?? 0;
  const lengthMs = (played.at(-1)?.ms ?? 0) - firstMs;
  /** Entries fed so far; the run begins again when it is over. */
  let fed = 0;
  const dueMs = (): number => {
    const entry = played[fed % played.length];
    const rounds = Math.floor(fed / played.length);
    return startMs + (rounds * lengthMs + (entry?.ms ?? 0) - firstMs) / SPEED;
  };
  const advance = async (untilMs: number): Promise<void> => {
    while (clock.nowMs() < untilMs) {
      for (; dueMs() <= clock.nowMs(); fed += 1) {
        const entry = played[fed % played.length];
        if (entry !== undefined) feed.take(entry);
      }
      await clock.delay(FEED_EVERY_MS);
    }
  };
  await advance(startMs + WARM_UP_MS);
  const framesBefore = stdout.frames;
  const before = process.cpuUsage();
  const beganMs = clock.nowMs();
  await advance(startMs + WARM_UP_MS + forMs);
  const { user, system } = process.cpuUsage(before);
  const tookMs = clock.nowMs() - beganMs;
  close();
  return {
    percent: (user + system) / 10 / tookMs,
    framesPerSecond: (stdout.frames - framesBefore) / (tookMs / 1000),
  };
}

async function openScreen(
  feed: ReturnType<typeof createRunFeed>,
  stdout: NullTerminal,
): Promise<() => void> {
  const { renderScreen } = await import("../../../src/screen/render-screen.tsx");
  const handle = renderScreen({
    feed,
    clock: createRealClock(),
    // The renderer asks a terminal for no more than its size, its `resize` and its writing side.
    stdout: stdout as unknown as NodeJS.WriteStream,
    stdin: new PassThrough() as unknown as NodeJS.ReadStream,
    ascii: false,
    colour: true,
    muted: true,
    seat: "own",
    onStop: () => undefined,
    onWish: () => null,
    onDrawingFault: (error) => {
      throw error;
    },
  });
  return () => handle.close();
}

class NullTerminal extends Writable {
  readonly isTTY = true;
  readonly columns = SIZE.columns;
  readonly rows = SIZE.rows;
  frames = 0;

  override _write(chunk: Buffer, _encoding: string, done: () => void): void {
    this.frames += chunk.toString("latin1").split(FRAME_END).length - 1;
    done();
  }
}
