/**
 * The vectors against the host build of the firmware (`make host`), in virtual time. A script and
 * no part of `npm test`, because it needs a C compiler: `make vectors` runs it.
 */
import { type ChildProcessWithoutNullStreams, spawn } from "node:child_process";
import { fileURLToPath } from "node:url";
import { loadVectors, type ResetCause, runVector, type VectorTarget } from "./vector-runner.ts";

const firmware = new URL("../../firmware-protocol/firmware/build/holdfast-host", import.meta.url);
const vectorFolder = new URL("../../firmware-protocol/vectors/", import.meta.url);
const controlMark = "\x02";
const controlAnswer = new RegExp(`${controlMark}at \\d+ outputs (\\d+)\\n`);

class HostTarget implements VectorTarget {
  private readonly child: ChildProcessWithoutNullStreams;
  private received = "";
  private complaint = "";
  private mask = 0;
  private waiting: (() => void) | null = null;

  constructor() {
    this.child = spawn(fileURLToPath(firmware), { env: {} });
    this.child.stdout.setEncoding("latin1").on("data", (text: string) => {
      this.received += text;
      this.waiting?.();
    });
    this.child.stderr.setEncoding("utf8").on("data", (text: string) => {
      this.complaint += text;
    });
    this.child.on("close", () => this.waiting?.());
  }

  write(bytes: Uint8Array): void {
    this.child.stdin.write(bytes);
  }

  async advance(ms: number): Promise<string> {
    return this.control(`wait ${ms}`);
  }

  async setCode(channel: number, code: number): Promise<void> {
    this.received = (await this.control(`code ${channel} ${code}`)) + this.received;
  }

  async reset(cause: ResetCause): Promise<void> {
    this.received = (await this.control(`reset ${cause}`)) + this.received;
  }

  outputs(): number {
    return this.mask;
  }

  close(): void {
    this.child.stdin.end();
  }

  /** Send a control line; answers what was on the wire before the process carried it out. */
  private async control(line: string): Promise<string> {
    this.child.stdin.write(`${controlMark}${line}\n`);
    for (;;) {
      const answer = controlAnswer.exec(this.received);
      if (answer !== null) {
        const before = this.received.slice(0, answer.index);
        this.received = this.received.slice(answer.index + answer[0].length);
        this.mask = Number(answer[1]);
        return before;
      }
      if (this.child.exitCode !== null) {
        throw new Error(
          `expected an answer to "${line}", but the host build ended: ${this.complaint}`,
        );
      }
      await new Promise<void>((resolve) => {
        this.waiting = resolve;
      });
    }
  }
}

let failures = 0;
let count = 0;
for (const [file, vectors] of loadVectors(vectorFolder)) {
  for (const vector of vectors) {
    const target = new HostTarget();
    count += 1;
    try {
      await runVector(vector, target);
    } catch (error) {
      failures += 1;
      process.stdout.write(`${file}: ${error instanceof Error ? error.message : String(error)}\n`);
    } finally {
      target.close();
    }
  }
}
process.stdout.write(`host build: ${count - failures} of ${count} vectors hold\n`);
process.exitCode = failures === 0 ? 0 : 1;
