/**
 * Start and stop the live screen. Imports ink, so it is loaded only when there is a terminal, and
 * after NODE_ENV is set: React's development build keeps a record of every render for ever.
 */
import { render, renderToString } from "ink";
import type { Clock } from "../clock/clock.ts";
import type { RunWish, WishAnswer } from "../events/run-wish.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import { Bell } from "./bell.ts";
import { type SnapshotFeed, tickFrames } from "./frame-ticker.ts";
import { LiveScreen } from "./live-screen.tsx";
import type { ScreenSize } from "./panel.ts";
import { Screen } from "./screen.tsx";
import type { Seat } from "./seat.ts";
import type { Silence } from "./silence.ts";
import { viewModel } from "./view-model.ts";
import { INITIAL_VIEW } from "./view-state.ts";

/** Four frames a second: as fast as a person reads, slow enough for an old terminal line. */
const FRAME_MS = 250;
/** A soak writes a line every twenty seconds; its clock goes on meanwhile. */
const BREATH_MS = 1000;
const FRAMES_PER_SECOND_MAX = 10;
/** Absolute, because the cursor of a terminal that was resized may stand anywhere. */
const HOME_AND_ERASE = "\u001b[H\u001b[2J";
const BELL_SIGN = "\u0007";

export interface ScreenOptions {
  readonly feed: SnapshotFeed;
  /** Real time, for the frames. */
  readonly clock: Clock;
  readonly stdout: NodeJS.WriteStream;
  readonly stdin: NodeJS.ReadStream;
  readonly ascii: boolean;
  readonly colour: boolean;
  readonly muted: boolean;
  readonly seat: Seat;
  readonly onStop: (key: string) => void;
  /** Null when the wish was taken, else why not. */
  readonly onWish: (wish: RunWish) => WishAnswer;
  /** The screen failed and has left the terminal; the run goes on. */
  readonly onDrawingFault: (error: Error) => void;
}

export interface ScreenHandle {
  /** Say something in a row of its own until the next key. */
  notice(text: string): void;
  /** Say that nothing is heard of the run any more; null when it goes on. */
  silent(silence: Silence | null): void;
  /** Leave the terminal as it was before. Safe to call twice. */
  close(): void;
}

export function renderScreen(options: ScreenOptions): ScreenHandle {
  const { feed, clock, stdout, stdin, ascii, colour } = options;
  // Of a run in this program it is known that it goes on; of another's it is heard, or it is silent.
  const breathMs = options.seat === "own" ? BREATH_MS : null;
  const readyToDraw = (): boolean => stdout.writableLength === 0;
  const follow = (draw: (snapshot: RunSnapshot) => void): (() => void) =>
    tickFrames({ feed, clock, frameMs: FRAME_MS, breathMs, readyToDraw }, draw);
  const notices = createCrier<string>();
  const silence = createCrier<Silence | null>();
  const bell = new Bell({
    first: feed.snapshot(),
    muted: options.muted,
    // Moves no cursor, so it may stand between two frames.
    ring: () => {
      stdout.write(BELL_SIGN);
    },
  });
  const first = feed.snapshot();
  const screenAt = (size: ScreenSize) => (
    <LiveScreen
      first={first}
      size={size}
      follow={follow}
      ascii={ascii}
      colour={colour}
      seat={options.seat}
      onStop={options.onStop}
      onWish={options.onWish}
      bell={bell}
      newest={feed.snapshot}
      hearNotices={notices.hear}
      hearSilence={silence.hear}
    />
  );
  let redraw = (): void => undefined;
  const resized = (): void => redraw();
  // Heard before the renderer hears it, which would draw the old, wider picture once more: wrapped
  // rows then stay between those that it believes to have drawn.
  stdout.on("resize", resized);
  const instance = render(screenAt(sizeOf(stdout)), {
    stdout,
    stdin,
    interactive: true,
    alternateScreen: true,
    // Leaving on Ctrl-C would come before the outputs are safe; the key is a stop like `s`.
    exitOnCtrlC: false,
    patchConsole: false,
    incrementalRendering: true,
    maxFps: FRAMES_PER_SECOND_MAX,
  });
  redraw = () => {
    instance.clear();
    stdout.write(HOME_AND_ERASE);
    instance.rerender(screenAt(sizeOf(stdout)));
  };
  let closed = false;
  instance.waitUntilExit().catch((error: unknown) => {
    if (closed) return;
    closed = true;
    stdout.off("resize", resized);
    options.onDrawingFault(error instanceof Error ? error : new Error(String(error)));
  });
  return {
    notice: notices.cry,
    silent: silence.cry,
    close() {
      if (closed) return;
      closed = true;
      // The end of a run comes between two frames, and calls all the same.
      bell.look(feed.snapshot());
      stdout.off("resize", resized);
      instance.unmount();
    },
  };
}

/** A terminal that does not know its size is taken as a usual one. */
function sizeOf({ columns, rows }: NodeJS.WriteStream): ScreenSize {
  return { columns: columns > 0 ? columns : 80, rows: rows > 0 ? rows : 24 };
}

/** Something said to whoever listens on the screen at that moment. */
function createCrier<T>(): {
  cry(said: T): void;
  hear(listener: (said: T) => void): () => void;
} {
  const listeners = new Set<(said: T) => void>();
  return {
    cry(said) {
      for (const listener of listeners) listener(said);
    },
    hear(listener) {
      listeners.add(listener);
      return () => {
        listeners.delete(listener);
      };
    },
  };
}

/** The last picture of a run as text, to stay on the terminal after the screen has closed. */
export function lastPicture(
  snapshot: RunSnapshot,
  size: ScreenSize,
  { ascii, colour }: { readonly ascii: boolean; readonly colour: boolean },
): string {
  const model = viewModel(snapshot, size, {
    ascii,
    view: INITIAL_VIEW,
    final: true,
    keysWork: false,
    seat: "own",
    silence: null,
  });
  return renderToString(<Screen model={model} colour={colour} />, { columns: size.columns });
}
