/**
 * The computer a run lives on, as the run meets it: its clocks and its end of the cable. It can die between two
 * steps of the program, be held up, fall asleep, and have its wall clock set.
 */
import { Duplex } from "node:stream";
import type { ControllerPort } from "../../../src/bench/controller-port.ts";
import { abortableDelay } from "../../../src/clock/abortable-delay.ts";
import type { Clock } from "../../../src/clock/clock.ts";
import { formatWallTime } from "../../../src/clock/wall-time.ts";

/** Wall time at 0 ms of the bench. */
const WALL_MS = Date.parse("2026-11-27T22:00:00.000+00:00");

/** Two clocks whose zeros differ round differently: a shorter rest could leave both of them standing. */
function leastMs(ms: number): number {
  return Math.max(ms, 0.001);
}

interface Timer {
  cancelled: boolean;
}

export class HostTwin {
  readonly clock: Clock;
  readonly #bench: Clock;
  readonly #ports: Duplex[] = [];
  /** What is to be done once the program runs again, in order; null while it does. */
  #heldUp: (() => void)[] | null = null;
  #isDead = false;
  #originMs: number;
  #wallMs = WALL_MS;

  /** A computer that starts now: its monotonic clock begins anew. */
  constructor(bench: Clock, wallStepMs = 0) {
    this.#bench = bench;
    this.#originMs = bench.nowMs();
    this.#wallMs += wallStepMs;
    const clock: Clock = {
      nowMs: () => this.#bench.nowMs() - this.#originMs,
      wallTime: () => formatWallTime(this.#wallMs + this.#bench.nowMs()),
      setTimeout: (callback, delayMs) => this.#setTimer(callback, delayMs),
      clearTimeout: (id) => {
        if (id !== null && id !== undefined) (id as Timer).cancelled = true;
      },
      delay: (delayMs, signal) => abortableDelay(clock, delayMs, signal),
    };
    this.clock = clock;
  }

  get isDead(): boolean {
    return this.#isDead;
  }

  stepWall(ms: number): void {
    this.#wallMs += ms;
  }

  get wallStepMs(): number {
    return this.#wallMs - WALL_MS;
  }

  /** From one step of the program to the next it is no more. The cable's end falls silent. */
  kill(): void {
    this.#isDead = true;
    for (const port of this.#ports) port.destroy();
  }

  /** Nothing of the program runs for so long; asleep, its monotonic clock stands still meanwhile. */
  async holdUp(ms: number, asleep: boolean): Promise<void> {
    this.#heldUp = [];
    await this.#bench.delay(ms);
    const waiting = this.#heldUp;
    this.#heldUp = null;
    if (asleep) this.#originMs += ms;
    for (const act of waiting) this.#bench.setTimeout(() => this.#whenRunning(act), 0);
  }

  /** This end of a connection. */
  port({ name, stream, close }: ControllerPort): ControllerPort {
    const own = new Duplex({
      read: () => undefined,
      write: (chunk: Buffer, encoding, done) => {
        if (this.#isDead || stream.destroyed) done();
        else stream.write(chunk, encoding, done);
      },
      destroy: (error, done) => {
        stream.destroy();
        done(this.#isDead ? null : error);
      },
    });
    stream.on("data", (chunk: Buffer) => this.#whenRunning(() => own.push(chunk)));
    stream.on("error", (error) => this.#whenRunning(() => own.destroy(error)));
    stream.on("close", () => this.#whenRunning(() => own.destroy()));
    // After a death nobody listens any more.
    own.on("error", () => undefined);
    this.#ports.push(own);
    return {
      name,
      stream: own,
      close: async () => void own.destroy(await close().then(() => undefined)),
    };
  }

  #whenRunning(act: () => void): void {
    if (this.#isDead) return;
    if (this.#heldUp === null) act();
    else this.#heldUp.push(act);
  }

  #setTimer(callback: () => void, delayMs: number): Timer {
    const timer: Timer = { cancelled: false };
    const dueMs = this.clock.nowMs() + Math.max(0, delayMs);
    const fire = (): void => {
      if (timer.cancelled) return;
      const leftMs = dueMs - this.clock.nowMs();
      if (leftMs > 0) this.#bench.setTimeout(() => this.#whenRunning(fire), leastMs(leftMs));
      else callback();
    };
    this.#bench.setTimeout(() => this.#whenRunning(fire), delayMs > 0 ? leastMs(delayMs) : 0);
    return timer;
  }
}
