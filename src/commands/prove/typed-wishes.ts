/**
 * Wishes typed as lines on standard input, where there is no screen: by a person at a dumb terminal
 * or by a script. A line is taken up when the run is in a state that a person has in hand, one after
 * the other; the end of the input lets go, because nobody is there any more.
 */
import { createInterface } from "node:readline";
import type { Clock } from "../../clock/clock.ts";
import { type RunWish, STILL_BUSY, type WishAnswer } from "../../events/run-wish.ts";
import { TYPED_WORDS } from "./typed-words.ts";

export type TypedLine =
  | { readonly kind: "wish"; readonly wish: RunWish }
  | { readonly kind: "stop" }
  | { readonly kind: "leave" }
  | { readonly kind: "wait"; readonly ms: number }
  | { readonly kind: "unknown" };

const WAIT_MS_MAX = 600_000;

/** What a line asks for. Steps are counted from 1, as everywhere a person sees them. */
export function readTypedLine(text: string): TypedLine {
  const words = text.trim().split(/\s+/);
  const [line = "", second = ""] = words;
  const phrase = words.join(" ").toLowerCase();
  const [first = "", level = ""] = phrase.split(" ");
  if (phrase === "stop" || phrase === "leave") return { kind: phrase };
  if (phrase === "let go" || phrase === "next run" || phrase === "repeat") {
    return { kind: "wish", wish: { kind: phrase } };
  }
  if (phrase === "loop off") return { kind: "wish", wish: { kind: "loop", with: null } };
  if (words.length !== 2) return { kind: "unknown" };
  const number = /^\d{1,7}$/.test(second) ? Number(second) : null;
  if (first === "loop" && number !== null && number > 0) {
    return { kind: "wish", wish: { kind: "loop", with: number - 1 } };
  }
  if (first === "wait" && number !== null && number <= WAIT_MS_MAX) {
    return { kind: "wait", ms: number };
  }
  if (first === "pulse") return { kind: "wish", wish: { kind: "pulse", line: second } };
  if (level === "high" || level === "low") {
    return { kind: "wish", wish: { kind: "drive", line, level } };
  }
  return { kind: "unknown" };
}

export interface TypedWishesGiven {
  readonly stdin: NodeJS.ReadableStream;
  /** Time of the bench, so that a script waits as long on an emulated bench as on a real one. */
  readonly clock: Clock;
  /** Whether the run is in a state in which wishes are taken. */
  readonly isOpen: () => boolean;
  readonly ask: (wish: RunWish) => WishAnswer | Promise<WishAnswer>;
  /** Where one may leave a run alone; then the end of the input lets nothing go either. */
  readonly leave?: () => void;
  readonly stop: () => void;
  readonly say: (text: string) => void;
}

/** Rest before looking again whether the run takes wishes. */
const LOOK_AGAIN_MS = 50;

/** Take up typed lines until the returned function is called. */
export function followTypedWishes(given: TypedWishesGiven): () => void {
  const { stdin, clock, isOpen, ask, stop, leave, say } = given;
  const words = leave === undefined ? TYPED_WORDS : `${TYPED_WORDS}, leave`;
  const over = new AbortController();
  const lines: string[] = [];
  let ended = false;
  let working = false;
  const reader = createInterface({ input: stdin, terminal: false });

  const untilOpen = async (): Promise<void> => {
    while (!isOpen()) await clock.delay(LOOK_AGAIN_MS, over.signal);
  };
  const takeUp = async (text: string): Promise<void> => {
    const typed = readTypedLine(text);
    if (typed.kind === "stop") return stop();
    if (typed.kind === "leave" && leave !== undefined) return leave();
    await untilOpen();
    if (typed.kind === "wait") return clock.delay(typed.ms, over.signal);
    if (typed.kind !== "wish") return say(`Expected one of ${words}; got "${text}".`);
    let answer = await ask(typed.wish);
    while (answer === STILL_BUSY) {
      await clock.delay(LOOK_AGAIN_MS, over.signal);
      answer = await ask(typed.wish);
    }
    if (answer !== null) say(answer);
  };
  const work = async (): Promise<void> => {
    if (working) return;
    working = true;
    try {
      for (let text = lines.shift(); text !== undefined; text = lines.shift()) {
        if (text.trim() !== "") await takeUp(text);
      }
      // Nobody is there any more, neither for a freeze nor for the standby that follows it.
      while (ended && leave === undefined) {
        await untilOpen();
        void ask({ kind: "let go" });
        await clock.delay(LOOK_AGAIN_MS, over.signal);
      }
    } catch (error) {
      // The wait was broken off because the run is over; anything else is worth a line.
      if (!over.signal.aborted) say(`Typed lines are no longer heard: ${String(error)}`);
    } finally {
      working = false;
    }
  };
  reader.on("line", (text) => {
    // A stop is heard at once, whatever waits before it.
    if (readTypedLine(text).kind === "stop") stop();
    else lines.push(text);
    void work();
  });
  reader.on("close", () => {
    ended = true;
    void work();
  });
  return () => {
    over.abort();
    reader.close();
  };
}
