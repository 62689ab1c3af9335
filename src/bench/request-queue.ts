/** Commands that wait for the controller, by urgency, each class bounded. */
import { BenchError } from "./bench-error.ts";
import { movesRelays } from "./relay-action.ts";

/** `off` goes before `heartbeat` goes before `work`. */
export type Urgency = "off" | "heartbeat" | "work";

const URGENCIES: readonly Urgency[] = ["off", "heartbeat", "work"];
/** Far more than a run ever queues; reaching it means that an asker does not wait for answers. */
const WAITING_MAX = 64;

/** The controller's own refusal, `E<number>,"text"`. */
const REFUSAL = /^E(-?\d+),"([^"]*)"$/;

export interface Asked {
  readonly body: string;
  readonly urgency: Urgency;
  readonly deadlineMs: number;
  /** How often it may be sent again when no good reply came: 0 unless a repeat changes nothing. */
  readonly repeats: 0 | 1;
  /** Asked right before each sending; an error when it must not be sent any more. */
  readonly withdrawn?: () => BenchError | null;
}

export class Request {
  readonly body: string;
  readonly urgency: Urgency;
  readonly deadlineMs: number;
  readonly movesRelays: boolean;
  readonly reject: (error: BenchError) => void;
  readonly #asked: Asked;
  readonly #resolve: (answer: string) => void;
  #attempts = 0;
  #firstSentMs: number | null = null;

  constructor(
    asked: Asked,
    settle: {
      readonly resolve: (answer: string) => void;
      readonly reject: (error: BenchError) => void;
    },
  ) {
    this.#asked = asked;
    this.#resolve = settle.resolve;
    this.reject = settle.reject;
    this.body = asked.body;
    this.urgency = asked.urgency;
    this.deadlineMs = asked.deadlineMs;
    this.movesRelays = movesRelays(asked.body);
  }

  begin(nowMs: number): void {
    this.#attempts += 1;
    this.#firstSentMs ??= nowMs;
  }

  withdrawn(): BenchError | null {
    return this.#asked.withdrawn?.() ?? null;
  }

  mayRepeat(): boolean {
    return this.#attempts <= this.#asked.repeats;
  }

  settle(answer: string): void {
    const [, number, text] = (answer.startsWith("E") ? REFUSAL.exec(answer) : null) ?? [];
    if (number === undefined || text === undefined) {
      this.#resolve(answer);
      return;
    }
    const facts = { command: this.body, number: Number(number), text, attempt: this.#attempts };
    this.reject(new BenchError("refused", facts));
  }

  lostError(nowMs: number): BenchError<"reply-lost"> {
    return new BenchError("reply-lost", {
      command: this.body,
      attempts: this.#attempts,
      waitedMs: nowMs - (this.#firstSentMs ?? nowMs),
    });
  }
}

export class RequestQueue {
  readonly #waiting: Readonly<Record<Urgency, Request[]>> = { off: [], heartbeat: [], work: [] };

  /** False when its class is full. */
  add(request: Request): boolean {
    const waiting = this.#waiting[request.urgency];
    if (waiting.length >= WAITING_MAX) return false;
    waiting.push(request);
    return true;
  }

  fullError(request: Request): BenchError<"queue-full"> {
    const waiting = this.#waiting[request.urgency].length;
    return new BenchError("queue-full", { command: request.body, waiting });
  }

  /** A request that is to be sent again goes before its own class, but not before a more urgent one. */
  putBack(request: Request): void {
    this.#waiting[request.urgency].unshift(request);
  }

  take(): Request | null {
    for (const urgency of URGENCIES) {
      const request = this.#waiting[urgency].shift();
      if (request !== undefined) return request;
    }
    return null;
  }

  isEmpty(): boolean {
    return URGENCIES.every((urgency) => this.#waiting[urgency].length === 0);
  }
}
