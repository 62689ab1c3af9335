/**
 * A controller by firmware-protocol/PROTOCOL.md alone, on virtual time: no chip, no firmware, no cycle. It answers the
 * same wire as the emulated one and is wired to the same fixtures, many times as fast, so that nights can be lived
 * by the thousand. Its converter is ideal and its times are the page's, rounded.
 */
import type { Fixture } from "../fixture.ts";
import { Agenda } from "./agenda.ts";
import type { Controller } from "./command.ts";
import { ControllerBeat, SCAN_US } from "./controller-beat.ts";
import { KeptMemory } from "./kept-memory.ts";
import { LineDesk, RING, withChecksum } from "./line-desk.ts";
import { PowerSide } from "./power-side.ts";
import { ScanTrail } from "./scan-trail.ts";
import { StatusSide } from "./status-side.ts";
import { TimedSide } from "./timed-side.ts";

export type ModelledReset = "POR" | "EXT" | "BOR" | "WDT";

const BYTE_US = 20;
const START_US = 10_000;
/** From a line's end to its being understood. */
const THINK_US = 300;
const REFERENCE_V = 5;
const CODES = 1024;
const PANIC = 0x18;
const LF = 0x0a;
const FIRMWARE = "1.2.0";
const RAIL_CHANNELS = [1, 2, 3, 4, 5, 6];
/** The first channel on a multiplexer. */
const FIRST_INPUT = 7;

export class ModelledController {
  readonly #agenda = new Agenda();
  readonly #fixture: Fixture;
  readonly #strides: boolean;
  readonly #memory = new KeptMemory();
  #parts: Parts | null = null;
  #beat: ControllerBeat | null = null;
  #arrivesUs = 0;
  /** Bytes that have not arrived yet. */
  #onTheWay = 0;
  #leavesUs = 0;
  #sent = "";
  #pushes = 0;

  /** @param strides false takes every tick and scan by itself, quiet or not: what striding is held to */
  constructor(fixture: Fixture, { strides = true }: { readonly strides?: boolean } = {}) {
    this.#fixture = fixture;
    this.#strides = strides;
    this.reset("POR");
  }

  nowMs(): number {
    return this.#agenda.nowUs / 1000;
  }

  /** Bytes from the host, put on the wire now. */
  send(bytes: Uint8Array): void {
    const piecewise = this.#mayLose(bytes.length);
    const isLine = !piecewise && bytes.indexOf(LF) === bytes.length - 1 && !bytes.includes(PANIC);
    for (const piece of isLine ? [bytes] : pieces(bytes, piecewise)) {
      this.#arrivesUs = Math.max(this.#arrivesUs, this.#agenda.nowUs) + piece.length * BYTE_US;
      this.#onTheWay += piece.length;
      this.#agenda.after(this.#arrivesUs - this.#agenda.nowUs, () => this.#receive(piece));
    }
  }

  /** Run to that time, or stop earlier when a line for the host is complete. */
  advance(untilMs: number): void {
    const us = Math.round(untilMs * 1000);
    // Whole microseconds, and never short of what was asked for: a host's timer would wait for ever.
    this.#agenda.runTo(us / 1000 < untilMs ? us + 1 : us, this.#goOn);
  }

  /** To be called before the fixture is changed: what is seen of it later will be another fixture. */
  disturb(): void {
    this.#parts?.power.trail.settle();
    this.#beat?.disturb();
  }

  /** What waits for something looks again after everything that happens. */
  readonly #goOn = (): boolean => {
    const desk = this.#parts?.desk;
    if (desk?.isBusy === true) desk.poll();
    return this.#sent !== "";
  };

  takeSent(): Buffer {
    const taken = Buffer.from(this.#sent, "latin1");
    this.#sent = "";
    return taken;
  }

  reset(cause: ModelledReset): void {
    this.#stop();
    this.#agenda.after(START_US, () => this.#start(cause));
  }

  /** The 5 V that feed controller and relay coils go, or come back. */
  setSupply(present: boolean): void {
    this.#fixture.setCoilSupply(present, this.nowMs());
    if (present) this.reset("POR");
    else this.#stop();
  }

  /** Every output is released, and nothing happens any more. */
  #stop(): void {
    this.#agenda.clear();
    this.#parts = null;
    this.#beat = null;
    this.#onTheWay = 0;
    this.#arrivesUs = this.#leavesUs = this.#agenda.nowUs;
    this.#pushes = 0;
    this.#sent = "";
    this.#fixture.setOutputs(0, this.nowMs());
  }

  #start(cause: string): void {
    this.#memory.boots = (this.#memory.boots + 1) % 65_536;
    const beganUs = this.#agenda.nowUs;
    const trail = new ScanTrail((scan) => this.#scan(beganUs + SCAN_US * scan));
    const parts = new Parts({
      agenda: this.#agenda,
      memory: this.#memory,
      trail,
      cause,
      code: (channel) => this.#code(channel, this.#agenda.nowUs),
      moved: (mask) => {
        this.#fixture.setOutputs(mask, this.nowMs());
        this.#beat?.moved(this.#agenda.nowUs);
      },
      push: (body) => this.#push(body),
      send: (line) => this.#transmit(line),
    });
    this.#parts = parts;
    let greeted = false;
    this.#beat = new ControllerBeat(parts.power, beganUs, {
      strides: this.#strides,
      codes: () => this.#scan(this.#agenda.nowUs),
      quietUntilUs: () => 1000 * (this.#fixture.quietUntilMs?.(this.nowMs()) ?? 0),
      scanned: () => {
        if (!greeted) this.#push(`BOOT 1,${FIRMWARE},${cause},${this.#memory.boots}`);
        greeted = true;
      },
    });
    this.#agenda.begin(this.#beat);
  }

  /** Whether bytes could find no room in the controller before it looks at them, or no controller. */
  #mayLose(bytes: number): boolean {
    const desk = this.#parts?.desk;
    return desk === undefined || desk.waiting + this.#onTheWay + bytes > RING;
  }

  #receive(piece: Uint8Array): void {
    this.#onTheWay -= piece.length;
    const parts = this.#parts;
    if (parts === null) return;
    if (piece[0] === PANIC) {
      parts.power.orderOff();
      return;
    }
    parts.desk.receive(latin1(piece));
    if (piece.at(-1) === LF) this.#agenda.after(THINK_US, () => parts.desk.poll());
  }

  #scan(us: number): number[] {
    const codes: number[] = [];
    for (const channel of RAIL_CHANNELS) codes.push(this.#code(channel, us));
    return codes;
  }

  #code(channel: number, us: number): number {
    const input = channel - FIRST_INPUT;
    const isRail = input < 0;
    const pin = isRail ? channel - 1 : 6 + (input >> 3);
    const volts = this.#fixture.pinVolts(pin, isRail ? 0 : input & 7, us / 1000);
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

/**
 * Bytes as they arrive together: up to a line feed, a panic byte by itself. Nothing can happen between the bytes of
 * a piece that would make a difference to them; where it could, each is a piece.
 */
function pieces(bytes: Uint8Array, each: boolean): Uint8Array[] {
  const found: Uint8Array[] = [];
  let begin = 0;
  for (let at = 0; at < bytes.length; at += 1) {
    const isPanic = bytes[at] === PANIC;
    if (isPanic && at > begin) found.push(bytes.subarray(begin, at));
    if (isPanic) begin = at;
    if (!each && !isPanic && bytes[at] !== LF) continue;
    found.push(bytes.subarray(begin, at + 1));
    begin = at + 1;
  }
  if (begin < bytes.length) found.push(bytes.subarray(begin));
  return found;
}

/** One character a byte. */
function latin1(bytes: Uint8Array): string {
  const { buffer, byteOffset, byteLength } = bytes;
  return Buffer.from(buffer, byteOffset, byteLength).toString("latin1");
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
    readonly trail: ScanTrail;
    readonly cause: string;
    readonly code: (channel: number) => number;
    readonly moved: (mask: number) => void;
    readonly push: (body: string) => void;
    readonly send: (line: string) => void;
  }) {
    const { agenda, memory, trail, code, push, moved } = given;
    this.agenda = agenda;
    this.memory = memory;
    this.cause = given.cause;
    this.code = code;
    this.bootedUs = agenda.nowUs;
    const hooks = { moved, push, orderBegun: () => this.timed.orderBegun() };
    this.power = new PowerSide({ agenda, status: this.status, memory, trail, hooks });
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
