/**
 * Runs the conformance vectors of firmware-protocol/vectors against any controller that can be
 * reached through a VectorTarget. The format is told in firmware-protocol/vectors/README.md.
 */
import { readdirSync, readFileSync } from "node:fs";

type Expected = string | { readonly pattern: string };
interface CodeSetting {
  readonly channel: number;
  readonly code: number;
}
export type ResetCause = "POR" | "EXT" | "BOR" | "WDT";

interface VectorStep {
  readonly reset?: ResetCause;
  readonly setCode?: CodeSetting | readonly CodeSetting[];
  readonly send?: string;
  readonly type?: string;
  readonly sendRaw?: string;
  readonly expect?: Expected;
  readonly push?: readonly Expected[];
  readonly withinMs?: number;
  readonly waitMs?: number;
  readonly silentMs?: number;
  readonly outputs?: number;
}

export interface Vector {
  readonly name: string;
  readonly rule: string;
  readonly steps: readonly VectorStep[];
}

/** A controller fresh from power-on, with every converter code at 0 and its greeting not yet read. */
export interface VectorTarget {
  /** How many times the time of a vector an answer may take; above 1 only where time is the machine's, which others use too. */
  readonly patience?: number;
  /** Put bytes on the wire now. */
  write(bytes: Uint8Array): Promise<void> | void;
  /** Let `ms` pass and answer the bytes the controller has sent, as latin1 text. */
  advance(ms: number): Promise<string> | string;
  setCode(channel: number, code: number): Promise<void> | void;
  reset(cause: ResetCause): Promise<void> | void;
  /** What the output pins drive, bit 0 for output 1; null where the pins cannot be seen. */
  outputs(): Promise<number | null> | number | null;
}

/** A controller in this process, on time of its own. */
interface SimulatedController {
  nowMs(): number;
  advance(untilMs: number): void;
  send(bytes: Uint8Array): void;
  takeSent(): Buffer;
}

export function simulatedTarget(
  controller: SimulatedController,
  fixture: { readonly codes: Map<number, number>; mask(): number },
  reset: (cause: ResetCause) => void,
): VectorTarget {
  return {
    write: (bytes) => controller.send(bytes),
    advance(ms) {
      const untilMs = controller.nowMs() + ms;
      const parts: Buffer[] = [];
      while (controller.nowMs() < untilMs) {
        controller.advance(untilMs);
        parts.push(controller.takeSent());
      }
      return Buffer.concat(parts).toString("latin1");
    },
    setCode: (channel, code) => void fixture.codes.set(channel, code),
    reset,
    outputs: () => fixture.mask(),
  };
}

const greetingMsMax = 1000;
const defaultWithinMs = 100;

/** CRC-16/IBM-3740 bit by bit, on purpose not the way the firmware or the host makes it. */
export function crcDigits(text: string): string {
  let crc = 0xffff;
  for (const byte of Buffer.from(text, "latin1")) {
    crc ^= byte << 8;
    for (let bit = 0; bit < 8; bit += 1) {
      crc = (crc & 0x8000) === 0 ? crc << 1 : ((crc << 1) ^ 0x1021) & 0xffff;
    }
  }
  return (crc & 0xffff).toString(16).toUpperCase().padStart(4, "0");
}

/**
 * All vectors by file name without its ending.
 *
 * @throws Error when a file is not of format holdfast-vectors version 1
 */
export function loadVectors(folder: URL): Map<string, readonly Vector[]> {
  const files = readdirSync(folder).filter((name) => name.endsWith(".json"));
  return new Map(
    files.sort().map((name) => {
      const file = JSON.parse(readFileSync(new URL(name, folder), "utf8"));
      if (file.format !== "holdfast-vectors" || file.version !== 1) {
        throw new Error(`${name}: expected holdfast-vectors version 1, got ${file.format}`);
      }
      return [name.slice(0, -".json".length), file.vectors];
    }),
  );
}

class VectorRun {
  private readonly target: VectorTarget;
  private partial = "";
  private replies: string[] = [];
  private pushes: string[] = [];
  private pushNumber = 0;
  private tag = 0;
  private framed = false;
  private readonly captured = new Map<string, string>();

  constructor(target: VectorTarget) {
    this.target = target;
  }

  async greet(): Promise<void> {
    await this.expectLines(undefined, [{ pattern: "BOOT 1,.*" }], greetingMsMax);
  }

  async step(step: VectorStep): Promise<void> {
    if (step.reset !== undefined) {
      this.pushNumber = 0;
      await this.target.reset(step.reset);
    }
    const settings = step.setCode === undefined ? [] : [step.setCode].flat();
    for (const { channel, code } of settings) {
      await this.target.setCode(channel, code);
    }
    await this.sendOf(step);
    await this.expectLines(step.expect, step.push ?? [], step.withinMs ?? defaultWithinMs);
    await this.pass(step.waitMs ?? 0);
    if (step.silentMs !== undefined) {
      await this.pass(step.silentMs);
      this.nothingLeft(`silence for ${step.silentMs} ms`);
    }
    const outputs = step.outputs === undefined ? null : await this.target.outputs();
    if (outputs !== null && outputs !== step.outputs) {
      throw new Error(`expected outputs ${step.outputs}, got ${outputs}`);
    }
  }

  nothingLeft(expected: string): void {
    const left = [...this.replies, ...this.pushes, this.partial].filter((line) => line !== "");
    if (left.length > 0) {
      throw new Error(`expected ${expected}, got ${JSON.stringify(left)}`);
    }
  }

  private async sendOf(step: VectorStep): Promise<void> {
    const text = step.send ?? step.type ?? step.sendRaw;
    if (text === undefined) {
      return;
    }
    const filled = text.replaceAll(/\$\{(\w+)\}/g, (_, name) => this.captured.get(name) ?? "");
    this.framed = step.send !== undefined;
    if (this.framed) {
      this.tag = (this.tag + 1) % 256;
      const head = `>${this.tagDigits()}|${filled}|`;
      await this.target.write(Buffer.from(`${head}${crcDigits(head)}\n`, "latin1"));
    } else {
      const end = step.type === undefined ? "" : "\n";
      await this.target.write(Buffer.from(filled + end, "latin1"));
    }
  }

  private tagDigits(): string {
    return this.tag.toString(16).toUpperCase().padStart(2, "0");
  }

  private async expectLines(
    reply: Expected | undefined,
    pushes: readonly Expected[],
    askedMs: number,
  ): Promise<void> {
    const withinMs = askedMs * (this.target.patience ?? 1);
    const replyCount = reply === undefined ? 0 : 1;
    for (let passedMs = 0; ; passedMs += 1) {
      if (this.replies.length >= replyCount && this.pushes.length >= pushes.length) {
        break;
      }
      if (passedMs >= withinMs) {
        const got = JSON.stringify([...this.replies, ...this.pushes]);
        const wanted = JSON.stringify([...(reply === undefined ? [] : [reply]), ...pushes]);
        throw new Error(`expected ${wanted} within ${withinMs} ms, got ${got}`);
      }
      await this.pass(1);
    }
    if (reply !== undefined) {
      this.compare(reply, this.bodyOfReply(this.replies.shift() ?? ""));
    }
    for (const push of pushes) {
      this.compare(push, this.pushes.shift() ?? "");
    }
  }

  private compare(expected: Expected, got: string): void {
    if (typeof expected === "string") {
      if (got !== expected) {
        throw new Error(`expected ${JSON.stringify(expected)}, got ${JSON.stringify(got)}`);
      }
      return;
    }
    const match = new RegExp(`^(?:${expected.pattern})$`).exec(got);
    if (match === null) {
      throw new Error(`expected a match of ${expected.pattern}, got ${JSON.stringify(got)}`);
    }
    for (const [name, value] of Object.entries(match.groups ?? {})) {
      this.captured.set(name, value);
    }
  }

  private bodyOfReply(line: string): string {
    if (!this.framed) {
      return line;
    }
    const head = `<${this.tagDigits()}|`;
    if (!line.startsWith(head)) {
      throw new Error(`expected a reply that begins with ${head}, got ${JSON.stringify(line)}`);
    }
    return bodyOfFrame(line);
  }

  private async pass(ms: number): Promise<void> {
    if (ms === 0) {
      return;
    }
    const text = this.partial + (await this.target.advance(ms));
    const lines = text.split("\n");
    this.partial = lines.pop() ?? "";
    for (const line of lines) {
      if (line.length > 96) {
        throw new Error(`expected a line of at most 96 bytes, got ${line.length}: ${line}`);
      }
      if (line.startsWith("!")) {
        this.takePush(line);
      } else {
        this.replies.push(line);
      }
    }
  }

  private takePush(line: string): void {
    const number = this.pushNumber.toString(16).toUpperCase().padStart(2, "0");
    if (!line.startsWith(`!${number}|`)) {
      throw new Error(`expected pushed line number ${number}, got ${JSON.stringify(line)}`);
    }
    this.pushNumber = (this.pushNumber + 1) % 256;
    this.pushes.push(bodyOfFrame(line));
  }
}

function bodyOfFrame(line: string): string {
  const covered = line.slice(0, -4);
  if (line.length < 9 || !covered.endsWith("|") || crcDigits(covered) !== line.slice(-4)) {
    throw new Error(`expected a frame with its checksum, got ${JSON.stringify(line)}`);
  }
  return covered.slice(4, -1);
}

/**
 * Run one vector on a fresh controller.
 *
 * @throws Error naming the vector, the step by its position from 1, what was expected and what came
 */
export async function runVector(vector: Vector, target: VectorTarget): Promise<void> {
  const run = new VectorRun(target);
  await run.greet();
  for (const [index, step] of vector.steps.entries()) {
    try {
      await run.step(step);
    } catch (error) {
      const at = `"${vector.name}", step ${index + 1} ${JSON.stringify(step)}`;
      throw new Error(`${at}: ${error instanceof Error ? error.message : String(error)}`);
    }
  }
  run.nothingLeft("no further line");
}
