/**
 * A controller in a process of its own, with the wire on its standard streams and control lines among it:
 * the host build (hal/hal_host.c) and libsimavr (simavr/holdfast-simavr.c) speak alike.
 */
import { type ChildProcessWithoutNullStreams, spawn } from "node:child_process";
import type { ResetCause, VectorTarget } from "./vector-runner.ts";

const controlMark = "\x02";
const controlAnswer = new RegExp(`${controlMark}at \\d+ outputs (\\d+)\\n`);

export class ProcessTarget implements VectorTarget {
  private readonly child: ChildProcessWithoutNullStreams;
  private readonly name: string;
  private received = "";
  private complaint = "";
  private mask = 0;
  private waiting: (() => void) | null = null;

  constructor(program: string, args: readonly string[] = []) {
    this.name = program;
    this.child = spawn(program, args, { env: {} });
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
          `expected an answer to "${line}", but ${this.name} ended: ${this.complaint}`,
        );
      }
      await new Promise<void>((resolve) => {
        this.waiting = resolve;
      });
    }
  }
}
