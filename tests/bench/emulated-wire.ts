/**
 * The committed firmware on the emulated chip, spoken to line by line, with every edge of its pins and
 * every sample of its converter kept by cycle: what figures about its timing are measured with.
 */
import { readFileSync } from "node:fs";
import { frameCommand, readLine } from "../../src/bench/checked-line.ts";
import { CYCLES_PER_MS } from "../../src/simulate/avr/chip.ts";
import {
  createEmulatedController,
  type EmulatedController,
} from "../../src/simulate/emulated-controller.ts";
import { createScriptedFixture } from "../simulate/scripted-fixture.ts";

const hexText = readFileSync(
  new URL("../../firmware-protocol/firmware/holdfast.hex", import.meta.url),
  "utf8",
);
const REPLY_MS = 400;
const STEP_MS = 1;

interface PinEdge {
  readonly cycles: number;
  readonly mask: number;
}

interface Sample {
  readonly cycles: number;
  /** Channel 1..22. */
  readonly channel: number;
}

export class EmulatedWire {
  readonly controller: EmulatedController;
  readonly codes = new Map<number, number>();
  readonly edges: PinEdge[] = [];
  readonly samples: Sample[] = [];
  readonly pushes: string[] = [];
  /** Lines that were no frame, as a typed query's answer is none. */
  strays = 0;
  readonly #replies: string[] = [];
  #tag = 0;
  #mask = 0;
  #partial = "";

  constructor(seed = 1) {
    const fixture = createScriptedFixture();
    this.codes = fixture.codes;
    this.controller = createEmulatedController({
      hexText,
      seed,
      fixture: {
        ...fixture,
        setOutputs: (mask, atMs) => {
          this.#mask = mask;
          this.edges.push({ cycles: Math.round(atMs * CYCLES_PER_MS), mask });
          fixture.setOutputs(mask, atMs);
        },
        pinVolts: (pin, address, atMs) => {
          const channel = pin < 6 ? pin + 1 : 7 + 8 * (pin - 6) + address;
          this.samples.push({ cycles: Math.round(atMs * CYCLES_PER_MS), channel });
          return fixture.pinVolts(pin, address, atMs);
        },
      },
    });
    this.run(200);
    this.forget();
  }

  get cycles(): number {
    return this.controller.chip.cycles;
  }

  /** What the outputs are driven to, bit 0 for output 1. */
  get mask(): number {
    return this.#mask;
  }

  /** Put a command on the wire without waiting. */
  send(body: string): void {
    this.#tag = (this.#tag + 1) & 0xff;
    this.controller.send(Buffer.from(`${frameCommand(this.#tag, body)}\n`, "latin1"));
  }

  /** Send a command and run until it is answered. */
  ask(body: string): string {
    this.send(body);
    for (let waitedMs = 0; this.#replies.length === 0; waitedMs += STEP_MS) {
      if (waitedMs > REPLY_MS) throw new Error(`expected a reply to ${body}, got none`);
      this.run(STEP_MS);
    }
    return this.#replies.shift() ?? "";
  }

  /** Ask for what must be answered OK. */
  order(body: string): void {
    const answer = this.ask(body);
    if (answer !== "OK") throw new Error(`expected OK to ${body}, got ${answer}`);
  }

  run(ms: number): void {
    const untilMs = this.controller.nowMs() + ms;
    while (this.controller.nowMs() < untilMs) {
      this.controller.advance(untilMs);
      this.#take(this.controller.takeSent().toString("latin1"));
    }
  }

  /** Put bytes on the wire as they are. */
  sendRaw(bytes: Uint8Array): void {
    this.controller.send(bytes);
  }

  /** Replies that came since the last call, for whoever sends without asking. */
  takeReplies(): string[] {
    return this.#replies.splice(0);
  }

  /** Forget edges, samples and pushed lines so far. */
  forget(): void {
    this.edges.length = 0;
    this.samples.length = 0;
    this.pushes.length = 0;
  }

  #take(text: string): void {
    const lines = (this.#partial + text).split("\n");
    this.#partial = lines.pop() ?? "";
    for (const line of lines) {
      const read = readLine(line);
      if (read.kind === "reply") this.#replies.push(read.answer);
      else if (read.kind === "push") this.pushes.push(read.body);
      else this.strays += 1;
    }
  }
}
