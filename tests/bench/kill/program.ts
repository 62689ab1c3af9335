/** The program as a person starts it, in a process of its own that can be killed from one instruction to the next. */
import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { resolve } from "node:path";

const root = resolve(import.meta.dirname, "../../..");

export class Program {
  readonly #child: ChildProcess;
  readonly #ended: Promise<number | "killed">;
  #said = "";

  constructor(args: readonly string[]) {
    const child = spawn(process.execPath, ["--import", "tsx", "src/main.ts", ...args], {
      cwd: root,
      stdio: ["ignore", "pipe", "pipe"],
    });
    for (const stream of [child.stdout, child.stderr]) {
      stream.on("data", (piece: Buffer) => {
        this.#said += piece.toString();
      });
    }
    this.#child = child;
    this.#ended = once(child, "close").then(([status]) => (status === null ? "killed" : status));
  }

  /** All it wrote to its two outputs so far. */
  get said(): string {
    return this.#said;
  }

  kill(): void {
    this.#child.kill("SIGKILL");
  }

  /** Exit status once it has ended and all it said is here. */
  ended(): Promise<number | "killed"> {
    return this.#ended;
  }
}
