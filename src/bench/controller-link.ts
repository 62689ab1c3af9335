/**
 * One connection to one controller: commands in, answers out, one in flight.
 *
 * What holds here: every request ends in an answer or an error; a command is sent at most once
 * unless its asker allows a repeat; after the link is lost or closed nothing is ever sent again.
 */
import type { Clock } from "../clock/clock.ts";
import type { LinkUse } from "./bench.ts";
import { BenchError } from "./bench-error.ts";
import { frameCommand, readLine, UNTRUSTED_TAG } from "./checked-line.ts";
import type { ControllerPort } from "./controller-port.ts";
import { LinkSilence } from "./link-silence.ts";
import { readLines } from "./received-lines.ts";
import { type Asked, Request, RequestQueue } from "./request-queue.ts";

/** Time for a reply without conversions: 96 bytes take 2 ms, a USB bridge up to 16 ms each way. */
export const REPLY_DEADLINE_MS = 200;
/** Silence while a command waits after which the link counts as lost; the dead-man has long acted. */
export const LINK_DEADLINE_MS = 1500;
const HEARD_TEXT_MAX = 400;

/** What went wrong on the wire and was survived. */
export interface LinkCounters {
  strayLines: number;
  damagedLines: number;
  overlongLines: number;
  lateReplies: number;
  lostPushes: number;
  repeats: number;
}

export interface LinkListener {
  /** A good pushed line. `lostBefore`: how many before it never came. */
  push(body: string, lostBefore: number): void;
  /** A pushed line came, but what it said is not known. */
  damagedPush(): void;
  /** Comes at most once, and not after `close`. */
  lost(reason: string): void;
}

/** For a wire log: each line, and remarks of the client that go nowhere else. */
export type WireTrace = (direction: "sent" | "received" | "note", text: string) => void;

interface LinkOptions {
  readonly port: ControllerPort;
  readonly clock: Clock;
  readonly listener: LinkListener;
  readonly trace?: WireTrace | undefined;
}

interface InFlight {
  readonly request: Request;
  readonly sentMs: number;
  readonly tag: string;
  readonly timer: unknown;
  /** Sent behind an empty line, so that one "checksum" answer may belong to what stood before. */
  ignoresOneUntrusted: boolean;
}

export class ControllerLink {
  readonly counters: LinkCounters = {
    strayLines: 0,
    damagedLines: 0,
    overlongLines: 0,
    lateReplies: 0,
    lostPushes: 0,
    repeats: 0,
  };
  readonly use: { -readonly [Key in keyof LinkUse]: LinkUse[Key] } = {
    bytes: 0,
    movingBytes: 0,
    movingMs: 0,
    movingRepeats: 0,
    brokeOffMoving: null,
  };
  /** Whether the first command that no good reply has followed moves relays; null when all were answered. */
  #unansweredMoving: boolean | null = null;
  readonly #port: ControllerPort;
  readonly #clock: Clock;
  readonly #listener: LinkListener;
  readonly #trace: WireTrace | undefined;
  readonly #queue = new RequestQueue();
  readonly #silence: LinkSilence;
  #end: BenchError<"link-lost" | "closed"> | null = null;
  #closing: Promise<void> | null = null;
  #inFlight: InFlight | null = null;
  #lastTag = -1;
  #lineMayBeOpen = true;
  #lastPush: number | null = null;
  #heard = "";

  constructor(options: LinkOptions) {
    this.#port = options.port;
    this.#clock = options.clock;
    this.#listener = options.listener;
    this.#trace = options.trace;
    const { stream } = options.port;
    this.#silence = new LinkSilence(options.clock, LINK_DEADLINE_MS, () => this.#silenceEnded());
    readLines(stream, {
      line: (text) => this.#receive(text),
      overlong: () => {
        this.counters.overlongLines += 1;
      },
    });
    stream.on("error", (error: Error) => this.#lose(error.message, error));
    stream.on("close", (error?: Error | null) => this.#lose(closeReason(error), error));
    stream.on("end", () => this.#lose("the port ended"));
  }

  /** Text received so far that was no frame of ours, bounded: what something else said. */
  get heard(): string {
    return this.#heard;
  }

  /**
   * Send a command and wait for its answer.
   *
   * @throws BenchError refused, reply-lost, overtaken, queue-full, controller-restarted, link-lost,
   *   closed
   */
  ask(asked: Asked): Promise<string> {
    if (this.#end !== null) return Promise.reject(this.#end);
    return new Promise((resolve, reject) => {
      const request = new Request(asked, { resolve, reject });
      if (!this.#queue.add(request)) {
        reject(this.#queue.fullError(request));
        return;
      }
      this.#pump();
    });
  }

  /** Close for good; waiting requests are rejected. Later calls wait for the same closing. */
  close(): Promise<void> {
    this.#finish(new BenchError("closed", { port: this.#port.name }));
    return this.#closePort();
  }

  #closePort(): Promise<void> {
    this.#closing ??= this.#port.close();
    return this.#closing;
  }

  #pump(): void {
    while (this.#inFlight === null && this.#end === null) {
      const request = this.#queue.take();
      if (request === null) return;
      const withdrawn = request.withdrawn();
      if (withdrawn === null) this.#send(request);
      else request.reject(withdrawn);
    }
  }

  #send(request: Request): void {
    if (!isWritable(this.#port.stream)) {
      this.#queue.putBack(request);
      this.#lose("the port is no longer open");
      return;
    }
    this.#lastTag = (this.#lastTag + 1) & 0xff;
    const line = frameCommand(this.#lastTag, request.body);
    const sentMs = this.#clock.nowMs();
    request.begin(sentMs);
    this.#countBytes(line, request.movesRelays);
    this.#unansweredMoving ??= request.movesRelays;
    this.#inFlight = {
      request,
      sentMs,
      tag: line.slice(1, 3),
      timer: this.#clock.setTimeout(() => this.#attemptFailed(), request.deadlineMs),
      ignoresOneUntrusted: this.#lineMayBeOpen,
    };
    this.#silence.begin();
    this.#trace?.("sent", line);
    // An empty line is ignored by the controller and ends whatever half line it may hold.
    this.#port.stream.write(Buffer.from(`${this.#lineMayBeOpen ? "\n" : ""}${line}\n`, "latin1"));
    this.#lineMayBeOpen = false;
  }

  #receive(text: string): void {
    if (this.#end !== null || text === "" || text === "\r") return;
    this.#trace?.("received", text);
    const line = readLine(text);
    switch (line.kind) {
      case "reply":
        this.#countBytes(text, this.#inFlight?.request.movesRelays === true);
        this.#receiveReply(line.tag, line.answer);
        return;
      case "push":
        this.#receivePush(line.number, line.body);
        return;
      case "damaged":
        this.counters.damagedLines += 1;
        this.#hear(line.text);
        if (line.looksLike === "push") this.#listener.damagedPush();
        else if (this.#inFlight !== null) this.#attemptFailed();
        return;
      case "stray":
        this.counters.strayLines += 1;
        this.#hear(line.text);
    }
  }

  #hear(text: string): void {
    if (this.#heard.length < HEARD_TEXT_MAX) {
      this.#heard = `${this.#heard}${this.#heard === "" ? "" : "\n"}${text}`.slice(
        0,
        HEARD_TEXT_MAX,
      );
    }
  }

  #countBytes(line: string, isMoving: boolean): void {
    const bytes = line.length + 1;
    this.use.bytes += bytes;
    if (isMoving) this.use.movingBytes += bytes;
  }

  #receiveReply(tag: string, answer: string): void {
    this.#silence.end();
    const inFlight = this.#inFlight;
    if (inFlight === null) {
      this.counters.lateReplies += 1;
      return;
    }
    if (tag === UNTRUSTED_TAG) {
      if (inFlight.ignoresOneUntrusted) inFlight.ignoresOneUntrusted = false;
      else this.#attemptFailed();
      return;
    }
    if (tag !== inFlight.tag) {
      this.counters.lateReplies += 1;
      return;
    }
    this.#unansweredMoving = null;
    this.#takeInFlight()?.settle(answer);
    this.#pump();
  }

  #receivePush(number: number, body: string): void {
    const restarted = body.startsWith("BOOT ");
    const expected = restarted || this.#lastPush === null ? number : (this.#lastPush + 1) & 0xff;
    const lostBefore = (number - expected) & 0xff;
    this.#lastPush = number;
    this.counters.lostPushes += lostBefore;
    // What was asked of the controller before it restarted must not reach it afterwards.
    if (restarted) {
      this.use.brokeOffMoving = this.#unansweredMoving;
      this.#lineMayBeOpen = true;
      this.#rejectAll(new BenchError("controller-restarted", { cause: body.slice(5) }));
    }
    this.#listener.push(body, lostBefore);
    this.#pump();
  }

  #attemptFailed(): void {
    const request = this.#takeInFlight();
    if (request === null) return;
    this.#lineMayBeOpen = true;
    if (request.mayRepeat()) {
      this.counters.repeats += 1;
      if (request.movesRelays) this.use.movingRepeats += 1;
      this.#queue.putBack(request);
    } else {
      request.reject(request.lostError(this.#clock.nowMs()));
    }
    if (this.#silence.isOver()) this.#silenceEnded();
    this.#pump();
  }

  #takeInFlight(): Request | null {
    if (this.#inFlight === null) return null;
    const { request, sentMs, timer } = this.#inFlight;
    if (request.movesRelays) this.use.movingMs += this.#clock.nowMs() - sentMs;
    this.#clock.clearTimeout(timer);
    this.#inFlight = null;
    return request;
  }

  #silenceEnded(): void {
    // With nothing outstanding the next command that goes unanswered decides.
    if (this.#inFlight === null && this.#queue.isEmpty()) return;
    this.#lose(`no valid reply for ${LINK_DEADLINE_MS} ms`);
  }

  #lose(reason: string, cause?: unknown): void {
    if (this.#end !== null) return;
    this.use.brokeOffMoving = this.#unansweredMoving;
    this.#finish(
      new BenchError("link-lost", { port: this.#port.name, reason }, cause ?? undefined),
    );
    // Bytes still held for a stalled port must not come out later, so the port goes with the link.
    // Whoever calls close() gets its failure; here nobody waits for it.
    this.#closePort().catch((error: unknown) => this.#hear(String(error)));
    this.#listener.lost(reason);
  }

  #finish(end: BenchError<"link-lost" | "closed">): void {
    if (this.#end !== null) return;
    this.#end = end;
    this.#silence.end();
    this.#rejectAll(end);
  }

  #rejectAll(error: BenchError): void {
    this.#takeInFlight()?.reject(error);
    for (let next = this.#queue.take(); next !== null; next = this.#queue.take())
      next.reject(error);
  }
}

function isWritable(stream: ControllerPort["stream"]): boolean {
  // A closed serial port still takes writes and keeps them for a later opening of the same object
  // (serialport/node-serialport#1593), so its own flag counts as well.
  const isOpen = "isOpen" in stream ? stream.isOpen === true : true;
  return isOpen && stream.writable && !stream.destroyed;
}

function closeReason(error: Error | null | undefined): string {
  return error ? `the port disappeared (${error.message})` : "the port closed";
}
