/**
 * A controller by firmware-protocol/PROTOCOL.md alone, on virtual time: no chip, no firmware, no cycle. It answers the
 * same wire as the emulated one and is wired to the same fixtures, many times as fast, so that nights can be lived
 * by the thousand. Its converter is ideal and its times are the page's, rounded.
 */
import type { Fixture } from "../fixture.ts";
import { Agenda } from "./agenda.ts";
import type { Controller } from "./command.ts";
import { KeptMemory } from "./kept-memory.ts";
import { LineDesk, withChecksum } from "./line-desk.ts";
import { PowerSide } from "./power-side.ts";
import { StatusSide } from "./status-side.ts";
import { TimedSide } from "./timed-side.ts";

export type ModelledReset = "POR" | "EXT" | "BOR" | "WDT";

const BYTE_US = 20;
const TICK_US = 1000;
const SCAN_US = 3000;
const START_US = 10_000;
/** From a line's end to its being understood. */
const THINK_US = 300;
const REFERENCE_V = 5;
const CODES = 1024;
const PANIC = 0x18;
const FIRMWARE = "1.2.0";
const RAIL_CHANNELS = 6;

export class ModelledController {
  readonly #agenda = new Agenda();
  readonly #fixture: Fixture;
  readonly #memory = new KeptMemory();
  #parts: Parts | null = null;
  #arrivesUs = 0;
  #leavesUs = 0;
  #sent = "";
  #pushes = 0;

  constructor(fixture: Fixture) {
    this.#fixture = fixture;
    this.reset("POR");
  }

  nowMs(): number {
    return this.#agenda.nowUs / 1000;
  }

  /** Bytes from the host, put on the wire now. */
  send(bytes: Uint8Array): void {
    for (const byte of bytes) {
      this.#arrivesUs = Math.max(this.#arrivesUs, this.#agenda.nowUs) + BYTE_US;
      this.#agenda.after(this.#arrivesUs - this.#agenda.nowUs, () => this.#receive(byte));
    }
  }

  /** Run to that time, or stop earlier when a line for the host is complete. */
  advance(untilMs: number): void {
    this.#agenda.runTo(untilMs * 1000, () => this.#sent.endsWith("\n"));
  }

  takeSent(): Buffer {
    const taken = Buffer.from(this.#sent, "latin1");
    this.#sent = "";
    return taken;
  }

  reset(cause: ModelledReset): void {
    this.#agenda.clear();
    this.#parts = null;
    this.#arrivesUs = this.#leavesUs = this.#agenda.nowUs;
    this.#pushes = 0;
    this.#fixture.setOutputs(0, this.nowMs());
    this.#agenda.after(START_US, () => this.#start(cause));
  }

  #start(cause: string): void {
    this.#memory.boots = (this.#memory.boots + 1) % 65_536;
    const parts = new Parts({
      agenda: this.#agenda,
      memory: this.#memory,
      cause,
      code: (channel) => this.#code(channel),
      moved: (mask) => this.#fixture.setOutputs(mask, this.nowMs()),
      push: (body) => this.#push(body),
      send: (line) => this.#transmit(line),
    });
    this.#parts = parts;
    const tick = (): void => {
      parts.power.tick();
      parts.desk.poll();
      this.#agenda.after(TICK_US, tick);
    };
    let greeted = false;
    const scan = (): void => {
      parts.power.scanned(Array.from({ length: RAIL_CHANNELS }, (_, at) => this.#code(at + 1)));
      if (!greeted) this.#push(`BOOT 1,${FIRMWARE},${cause},${this.#memory.boots}`);
      greeted = true;
      this.#agenda.after(SCAN_US, scan);
    };
    this.#agenda.after(TICK_US, tick);
    this.#agenda.after(SCAN_US, scan);
  }

  #receive(byte: number): void {
    const parts = this.#parts;
    if (parts === null) return;
    if (byte === PANIC) {
      parts.power.orderOff();
      return;
    }
    parts.desk.receive(byte);
    if (byte === 0x0a) this.#agenda.after(THINK_US, () => parts.desk.poll());
  }

  #code(channel: number): number {
    const input = channel - RAIL_CHANNELS - 1;
    const [pin, address] =
      channel <= RAIL_CHANNELS ? [channel - 1, 0] : [6 + Math.floor(input / 8), input % 8];
    const volts = this.#fixture.pinVolts(pin, address, this.nowMs());
    return Math.max(0, Math.min(CODES - 1, Math.floor((volts / REFERENCE_V) * CODES)));
  }

  #push(body: string): void {
    const number = this.#pushes.toString(16).toUpperCase().padStart(2, "0");
    this.#pushes = (this.#pushes + 1) & 0xff;
    this.#transmit(withChecksum(`!${number}|${body}|`));
  }

  #transmit(line: string): void {
    const text = `${line}\n`;
    this.#leavesUs = Math.max(this.#leavesUs, this.#agenda.nowUs) + text.length * BYTE_US;
    this.#agenda.after(this.#leavesUs - this.#agenda.nowUs, () => {
      this.#sent += text;
    });
  }
}

/** What a reset makes anew. */
class Parts implements Controller {
  readonly agenda: Agenda;
  readonly memory: KeptMemory;
  readonly cause: string;
  readonly bootedUs: number;
  readonly status = new StatusSide();
  readonly power: PowerSide;
  readonly timed: TimedSide;
  readonly desk: LineDesk;
  readonly code: (channel: number) => number;

  constructor(given: {
    readonly agenda: Agenda;
    readonly memory: KeptMemory;
    readonly cause: string;
    readonly code: (channel: number) => number;
    readonly moved: (mask: number) => void;
    readonly push: (body: string) => void;
    readonly send: (line: string) => void;
  }) {
    const { agenda, memory, code, push, moved } = given;
    this.agenda = agenda;
    this.memory = memory;
    this.cause = given.cause;
    this.code = code;
    this.bootedUs = agenda.nowUs;
    const hooks = { moved, push, orderBegun: () => this.timed.orderBegun() };
    this.power = new PowerSide({ agenda, status: this.status, memory, hooks });
    this.timed = new TimedSide(agenda, this.power, { code, push });
    this.desk = new LineDesk(this, given.send);
  }

  get linkCounts(): readonly number[] {
    return this.desk.counts;
  }

  get messageAvailable(): boolean {
    return this.desk.messageAvailable;
  }
}
