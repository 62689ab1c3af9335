/**
 * The wire's end of a modelled controller: bytes to lines, lines to commands one after the other, answers and
 * pushed lines back (firmware-protocol/PROTOCOL.md, sections 1 and 2).
 */

import type { Answer, Controller } from "./command.ts";
import { HeaderReader, ParameterReader } from "./command-text.ts";
import { commandOf } from "./commands.ts";
import { checksumDigits } from "./kept-memory.ts";
import { errorText, Refusal } from "./refusal.ts";

const LINE_MAX = 96;
/** Bytes that may wait to be looked at. */
export const RING = 127;
const LF = "\n";
/** Stands in the ring for bytes that were lost there; every other character is a byte. */
const LOST = "\u0100";
const FRAME_HEAD = /^>[0-9A-F]{2}\|/;
/** Of a frame: what stands before its body, and its checksum. */
const HEAD_LENGTH = 4;
const DIGITS = 4;
const UNPRINTABLE = /[^\x20-\x7e]/;

interface Work {
  readonly tag: string | null;
  readonly commands: string[];
  readonly headers: HeaderReader;
  answers: string[];
  identified: boolean;
  pending: { ask(): string | null } | null;
}

export class LineDesk {
  /** Overruns, checksums, too long, characters. */
  readonly counts = [0, 0, 0, 0];
  #ring = "";
  #losing = false;
  #line = "";
  #work: Work | null = null;
  readonly #send: (line: string) => void;
  readonly #controller: Controller;

  constructor(controller: Controller, send: (line: string) => void) {
    this.#controller = controller;
    this.#send = send;
  }

  get isBusy(): boolean {
    return this.#work !== null;
  }

  /** Bytes that have not been looked at. */
  get waiting(): number {
    return this.#ring.length;
  }

  get messageAvailable(): boolean {
    return this.#work?.tag === null && this.#work.answers.length > 0;
  }

  /** Bytes have arrived, one character each; a line feed is the last of them if it is there at all. */
  receive(text: string): void {
    if (this.#work !== null || this.#ring !== "" || this.#losing) {
      this.#keepInRing(text);
      return;
    }
    const isEnd = text.endsWith(LF);
    this.#line += isEnd ? text.slice(0, -1) : text;
    if (isEnd) this.#ring = LF;
  }

  #keepInRing(text: string): void {
    if (!this.#losing && this.#ring.length + text.length <= RING) {
      this.#ring += text;
      return;
    }
    for (const byte of text) {
      if (this.#ring.length >= RING) {
        this.#losing = true;
        continue;
      }
      if (this.#losing) this.#ring += LOST;
      this.#losing = this.#ring.length >= RING;
      if (!this.#losing) this.#ring += byte;
    }
  }

  /** Go on as far as it goes now. */
  poll(): void {
    for (;;) {
      if (this.#work !== null) {
        if (!this.#goOn(this.#work)) return;
      } else if (!this.#takeLine()) {
        return;
      }
    }
  }

  /** False when no whole line is there. */
  #takeLine(): boolean {
    const end = this.#ring.indexOf(LF);
    const line = this.#line + (end < 0 ? this.#ring : this.#ring.slice(0, end));
    this.#line = end < 0 ? line : "";
    this.#ring = end < 0 ? "" : this.#ring.slice(end + 1);
    if (end >= 0) this.#begin(line);
    return end >= 0;
  }

  #begin(all: string): void {
    const isLossy = all.includes(LOST);
    const whole = isLossy ? all.replaceAll(LOST, "") : all;
    const text = whole.endsWith("\r") ? whole.slice(0, -1) : whole;
    if (text === "" && !isLossy) return;
    const framed = text.startsWith(">");
    if (isLossy) this.#refuseLine(framed, 107, 0);
    else if (text.length > LINE_MAX) this.#refuseLine(framed, 109, 2);
    else if (UNPRINTABLE.test(text)) this.#refuseLine(framed, framed ? 108 : -101, 3);
    else if (framed && !isWhole(text)) this.#refuseLine(framed, 108, 1);
    else this.#start(text, framed);
  }

  #refuseLine(framed: boolean, number: number, count: number): void {
    this.counts[count] = ((this.counts[count] ?? 0) + 1) % 65_536;
    const { status } = this.#controller;
    if (!framed) {
      status.queue(number);
      return;
    }
    status.note(number);
    this.#sendFramed(`<--|E${errorText(number)}|`);
  }

  #start(text: string, framed: boolean): void {
    const body = framed ? text.slice(4, -5) : text;
    this.#work = {
      tag: framed ? text.slice(1, 3) : null,
      commands: body.split(";"),
      headers: new HeaderReader(),
      answers: [],
      identified: false,
      pending: null,
    };
  }

  /** False when what is in work has to wait. */
  #goOn(work: Work): boolean {
    try {
      const answer = work.pending === null ? this.#runNext(work) : work.pending.ask();
      if (answer === null) return false;
      work.pending = null;
      if (answer !== undefined) this.#keep(work, answer);
      if (work.commands.length === 0) this.#finish(work);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.#refuse(work, error.number);
    }
    return true;
  }

  /** The answer of the next command, null when it has to be asked again. */
  #runNext(work: Work): string | null {
    const first = work.commands.shift() ?? "";
    const command = first.startsWith(" ") ? first.replace(/^ +/, "") : first;
    if ((work.tag !== null && work.commands.length > 0) || command === "") throw new Refusal(-102);
    const { header, rest } = work.headers.take(command);
    const found = commandOf(header);
    if (found === undefined) throw new Refusal(-113);
    const answer: Answer = found.run(this.#controller, new ParameterReader(rest));
    const isAnswer = typeof answer !== "string" || answer !== "";
    if (work.identified && isAnswer) throw new Refusal(-440);
    work.identified ||= found.isIdentity;
    if (typeof answer === "string") return answer;
    work.pending = { ask: answer };
    return answer();
  }

  #keep(work: Work, answer: string): void {
    if (answer === "") return;
    let { length } = answer;
    for (const before of work.answers) length += before.length + 1;
    if (length > (work.tag === null ? LINE_MAX : LINE_MAX - 9)) throw new Refusal(-430);
    work.answers.push(answer);
  }

  #finish({ tag, answers }: Work): void {
    this.#work = null;
    const text = answers.join(";");
    if (tag !== null) this.#sendFramed(`<${tag}|${text === "" ? "OK" : text}|`);
    else if (text !== "") this.#send(text);
  }

  #refuse(work: Work, number: number): void {
    this.#work = null;
    if (work.tag !== null) {
      this.#controller.status.note(number);
      this.#sendFramed(`<${work.tag}|E${errorText(number)}|`);
      return;
    }
    this.#controller.status.queue(number);
    if (work.answers.length > 0) this.#send(work.answers.join(";"));
  }

  #sendFramed(head: string): void {
    this.#send(withChecksum(head));
  }
}

export function withChecksum(head: string): string {
  return head + checksumDigits(head, head.length);
}

function isWhole(text: string): boolean {
  const end = text.length - DIGITS;
  if (end <= HEAD_LENGTH || text[end - 1] !== "|" || !FRAME_HEAD.test(text)) return false;
  return text.endsWith(checksumDigits(text, end));
}
