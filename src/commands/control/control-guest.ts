/**
 * One who is attached to a run, as the run sees it: a socket that may say anything, at any speed, read
 * nothing, or go at any moment. None of it may cost the run more than a moment of its time.
 */
import type { Socket } from "node:net";
import type { Clock } from "../../clock/clock.ts";
import type { RunWish, WishAnswer } from "../../events/run-wish.ts";
import { BoundedLines } from "./bounded-lines.ts";
import {
  ASKED_BYTES_MAX,
  type Asked,
  CONTROL_VERSION,
  lineOf,
  readAsked,
  type Told,
} from "./control-lines.ts";

export interface GuestGiven {
  readonly socket: Socket;
  /** Real time. */
  readonly clock: Clock;
  readonly stop: (detail: string) => void;
  readonly ask: (wish: RunWish, notice: (text: string) => void) => WishAnswer;
  /** What a guest is told first. */
  readonly greeting: () => Told;
  readonly onGone: () => void;
  readonly onFault: (error: unknown) => void;
}

/** Who connects says who it is at once, or keeps a place from others. */
const HELLO_MS = 5_000;
/** A stuck key repeats some 30 times a second. */
const WISHES_PER_S = 20;
const WISHES_AT_ONCE = 40;
/** More refused ones than this without a rest are no person. */
const REFUSED_MAX = 200;
/** Answers that nobody takes up. */
const WAITING_BYTES_MAX = 64 * 1024;

export class ControlGuest {
  readonly #given: GuestGiven;
  readonly #lines = new BoundedLines(ASKED_BYTES_MAX);
  readonly #helloTimer: unknown;
  #from: string | null = null;
  #allowed = WISHES_AT_ONCE;
  #allowedAtMs: number;
  #refused = 0;

  constructor(given: GuestGiven) {
    this.#given = given;
    const { socket, clock } = given;
    this.#allowedAtMs = clock.nowMs();
    this.#helloTimer = clock.setTimeout(() => this.refuse("Nothing was said."), HELLO_MS);
    socket.on("data", (bytes: Buffer) => this.#guarded(() => this.#take(bytes)));
    // What breaks is the guest's end of the line.
    socket.on("error", () => socket.destroy());
    socket.once("close", () => {
      clock.clearTimeout(this.#helloTimer);
      given.onGone();
    });
  }

  tell(message: Told): void {
    const { socket } = this.#given;
    if (socket.destroyed || socket.writableEnded) return;
    socket.write(lineOf(message));
    if (socket.writableLength > WAITING_BYTES_MAX) socket.destroy();
  }

  /** Say why, and hang up. */
  refuse(why: string): void {
    this.leave({ refused: why });
  }

  /** Hang up, after a last line where there is one to say. */
  leave(last: Told | null): void {
    const { socket } = this.#given;
    if (socket.destroyed || socket.writableEnded) return;
    // Nothing more is taken up, but an end that is not read would keep the socket.
    socket.removeAllListeners("data").resume();
    socket.end(last === null ? "" : lineOf(last), () => socket.destroy());
  }

  destroy(): void {
    this.#given.socket.destroy();
  }

  /** A fault of this program while it serves a guest is no fault of the run. */
  #guarded(work: () => void): void {
    try {
      work();
    } catch (error) {
      this.#given.onFault(error);
      this.destroy();
    }
  }

  #take(bytes: Buffer): void {
    const lines = this.#lines.take(bytes);
    if (lines === null) {
      this.refuse(`Expected lines of at most ${ASKED_BYTES_MAX} bytes.`);
      return;
    }
    for (const line of lines) {
      if (this.#given.socket.writableEnded || this.#given.socket.destroyed) return;
      const asked = readAsked(line);
      if (asked === null) this.refuse("Expected a line of this protocol, got something else.");
      else this.#answer(asked);
    }
  }

  #answer(asked: Asked): void {
    if ("hello" in asked) this.#greet(asked.hello);
    else if (this.#from === null) this.refuse("Expected a hello first.");
    else if ("stop" in asked) this.#stop(asked.id, `${asked.stop}, ${this.#from}`);
    else this.tell({ id: asked.id, answer: this.#wished(asked.wish) });
  }

  #greet({ version, from }: { readonly version: number; readonly from: string }): void {
    const { clock, greeting } = this.#given;
    if (version !== CONTROL_VERSION) {
      this.refuse(`Expected version ${CONTROL_VERSION} of this protocol, got ${version}.`);
      return;
    }
    clock.clearTimeout(this.#helloTimer);
    this.#from = from === "" ? "attached" : `attached from ${from}`;
    this.tell(greeting());
  }

  /** A stop is never too many: asking again changes nothing. */
  #stop(id: number, detail: string): void {
    this.#given.stop(detail);
    if (!this.#mayAsk()) return;
    this.tell({ id, answer: null });
  }

  #wished(wish: RunWish): WishAnswer {
    if (!this.#mayAsk()) return "Too many wishes at once: this one was dropped.";
    return this.#given.ask(wish, (text) => this.tell({ notice: text }));
  }

  #mayAsk(): boolean {
    const nowMs = this.#given.clock.nowMs();
    const earned = ((nowMs - this.#allowedAtMs) / 1000) * WISHES_PER_S;
    this.#allowed = Math.min(WISHES_AT_ONCE, this.#allowed + earned);
    this.#allowedAtMs = nowMs;
    if (this.#allowed >= 1) {
      this.#allowed -= 1;
      this.#refused = 0;
      return true;
    }
    this.#refused += 1;
    if (this.#refused > REFUSED_MAX) this.refuse("Too many wishes at once.");
    return false;
  }
}
