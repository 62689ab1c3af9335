/**
 * A port in memory with a scripted controller behind it. What goes wrong on the way is a function
 * of a seed, so that a failing campaign can be run again from the seed it prints.
 */
import { Duplex } from "node:stream";
import type { ControllerPort } from "../../src/bench/controller-port.ts";
import type { Clock } from "../../src/clock/clock.ts";
import type { ControllerModel } from "./controller-model.ts";

/** What happens to one exchange. */
export type Mishap =
  | { readonly kind: "none" }
  | { readonly kind: "reply late"; readonly byMs: number }
  | { readonly kind: "reply lost" }
  | { readonly kind: "reply doubled" }
  | { readonly kind: "reply truncated"; readonly keep: number }
  | { readonly kind: "reply corrupt"; readonly at: number; readonly bit: number }
  | { readonly kind: "half a line, then the reply" }
  | { readonly kind: "garbage, then the reply"; readonly bytes: number }
  | { readonly kind: "command corrupt"; readonly at: number }
  | { readonly kind: "command torn"; readonly keep: number }
  | { readonly kind: "restart"; readonly greets: boolean }
  | { readonly kind: "unplug in the middle of the write"; readonly keep: number }
  | { readonly kind: "silent from now on" };

const REPLY_MS = 1;

export interface MemoryPortOptions {
  readonly clock: Clock;
  readonly model: ControllerModel;
  /** Called once for each command line; nothing goes wrong without it. */
  readonly mishap?: (line: string) => Mishap;
}

export class MemoryPort implements ControllerPort {
  readonly name = "memory port";
  readonly stream: Duplex;
  /** Every byte that left the host, as text. */
  written = "";
  closed = false;
  #silent = false;
  #held = "";
  readonly #clock: Clock;
  readonly #model: ControllerModel;
  readonly #mishap: (line: string) => Mishap;

  constructor({ clock, model, mishap }: MemoryPortOptions) {
    this.#clock = clock;
    this.#model = model;
    this.#mishap = mishap ?? (() => ({ kind: "none" }));
    this.stream = new Duplex({
      read: () => undefined,
      write: (chunk: Buffer, _encoding, done) => {
        const text = chunk.toString("latin1");
        this.written += text;
        this.#receive(text);
        done();
      },
    });
  }

  async close(): Promise<void> {
    this.closed = true;
    this.stream.destroy();
  }

  /** Raw text to the host after a moment; nothing when the port is gone by then. */
  say(text: string, afterMs = REPLY_MS): void {
    this.#clock.setTimeout(() => {
      if (!this.stream.destroyed && !this.#silent) this.stream.push(Buffer.from(text, "latin1"));
    }, afterMs);
  }

  greet(afterMs: number): void {
    this.#clock.setTimeout(() => this.say(`${this.#model.greeting()}\n`, 0), afterMs);
  }

  push(body: string): void {
    this.say(`${this.#model.push(body)}\n`);
  }

  restart(options: { readonly cause: string; readonly greets: boolean }): void {
    this.#held = "";
    this.#model.reset(options.cause, this.#clock.nowMs());
    if (options.greets) this.greet(5);
    else this.#model.push("BOOT");
  }

  unplug(): void {
    this.#silent = true;
    this.stream.destroy(new Error("bad file descriptor"));
  }

  goSilent(): void {
    this.#silent = true;
  }

  #receive(text: string): void {
    const lines = (this.#held + text).split("\n");
    this.#held = lines.pop() ?? "";
    for (const line of lines) {
      if (line === "") continue;
      this.#exchange(line, this.#mishap(line));
    }
  }

  #exchange(line: string, mishap: Mishap): void {
    if (this.#silent) return;
    switch (mishap.kind) {
      case "silent from now on":
        this.goSilent();
        return;
      case "restart":
        this.restart({ cause: "BOR", greets: mishap.greets });
        return;
      case "unplug in the middle of the write":
        this.#held = line.slice(0, mishap.keep);
        this.unplug();
        return;
      case "command torn":
        this.#held = line.slice(0, mishap.keep % line.length);
        return;
      case "command corrupt":
        this.#reply(replaceAt(line, mishap.at % line.length, "~"));
        return;
      default:
        this.#replyWith(line, mishap);
    }
  }

  #reply(line: string): void {
    const reply = this.#model.receive(line, this.#clock.nowMs());
    if (reply !== null) this.say(`${reply}\n`);
  }

  #replyWith(line: string, mishap: Mishap): void {
    const reply = this.#model.receive(line, this.#clock.nowMs());
    if (reply === null) return;
    switch (mishap.kind) {
      case "reply lost":
        return;
      case "reply late":
        this.say(`${reply}\n`, mishap.byMs);
        return;
      case "reply doubled":
        this.say(`${reply}\n${reply}\n`);
        return;
      case "reply truncated":
        this.say(`${reply.slice(0, mishap.keep % reply.length)}\n`);
        return;
      case "reply corrupt": {
        const at = mishap.at % reply.length;
        const flipped = reply.charCodeAt(at) ^ (1 << (mishap.bit & 7));
        this.say(`${replaceAt(reply, at, String.fromCharCode(flipped))}\n`);
        return;
      }
      case "half a line, then the reply":
        this.say(`<7F|12,3${reply}\n`);
        return;
      case "garbage, then the reply":
        this.say(`${"\xff~U".repeat(mishap.bytes)}\n${reply}\n`);
        return;
      default:
        this.say(`${reply}\n`);
    }
  }
}

function replaceAt(text: string, at: number, character: string): string {
  return text.slice(0, at) + character + text.slice(at + 1);
}

/** A small seeded generator (mulberry32): numbers from 0 up to but not including 1. */
export function seededChance(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Mishaps drawn from a seed; `share` of the exchanges have one. */
export function seededMishaps(options: {
  readonly seed: number;
  readonly share: number;
  readonly kinds: readonly Mishap["kind"][];
}): () => Mishap {
  const chance = seededChance(options.seed);
  const below = (limit: number) => Math.floor(chance() * limit);
  return () => {
    if (chance() >= options.share) return { kind: "none" };
    const kind = options.kinds[below(options.kinds.length)] ?? "none";
    switch (kind) {
      case "reply late":
        return { kind, byMs: 100 + below(700) };
      case "reply truncated":
      case "command torn":
      case "unplug in the middle of the write":
        return { kind, keep: 1 + below(20) };
      case "reply corrupt":
        return { kind, at: below(96), bit: below(8) };
      case "garbage, then the reply":
        return { kind, bytes: 1 + below(400) };
      case "command corrupt":
        return { kind, at: below(96) };
      case "restart":
        return { kind, greets: chance() < 0.5 };
      default:
        return { kind };
    }
  };
}
