/**
 * The program on a real pseudo-terminal, and what its screen left there: `script` (util-linux) owns
 * the terminal, `stty` resizes it as a window manager would, and a terminal emulator reads the bytes.
 */
import { type ChildProcess, execFileSync, spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import type { Terminal } from "@xterm/headless";
import headless from "@xterm/headless";
import type { ScreenSize } from "../../src/screen/panel.ts";

const root = resolve(import.meta.dirname, "../..");
/** Ends a frame: from here on the terminal may show what it was sent. */
const FRAME_END = "\u001b[?2026l";
const FRAME_BEGIN = "\u001b[?2026h";

/** Whether this machine has what it takes. */
export const hasTerminals = process.platform === "linux" && existsSync("/usr/bin/script");

export class OnTerminal {
  readonly #terminal: Terminal;
  readonly #child: ChildProcess;
  readonly #folder = mkdtempSync(join(tmpdir(), "holdfast-terminal-"));
  readonly #exited: Promise<number | null>;
  readonly #watchers = new Set<() => void>();
  #open = 0;
  /** When frames were ended, real ms; how often the bell rang. */
  readonly frameMs: number[] = [];
  bells = 0;

  constructor(args: readonly string[], size: ScreenSize) {
    this.#terminal = new headless.Terminal({
      cols: size.columns,
      rows: size.rows,
      allowProposedApi: true,
    });
    this.#terminal.onBell(() => {
      this.bells += 1;
    });
    const program = [process.execPath, "--import", "tsx", "src/main.ts", ...args];
    const quoted = program.map((one) => `'${one.replaceAll("'", "'\\''")}'`).join(" ");
    const { columns, rows } = size;
    const command = `stty cols ${columns} rows ${rows}; tty > '${this.#ttyFile}'; exec ${quoted}`;
    this.#child = spawn("script", ["-qfec", command, "/dev/null"], {
      cwd: root,
      stdio: ["pipe", "pipe", "inherit"],
      env: { ...process.env, TERM: "xterm-256color", LANG: "C.UTF-8", LC_ALL: "C.UTF-8" },
    });
    this.#exited = new Promise((done) => this.#child.once("exit", (code) => done(code)));
    this.#child.stdout?.on("data", (chunk: Buffer) => this.#take(chunk));
  }

  get #ttyFile(): string {
    return join(this.#folder, "tty");
  }

  /** Resolves once the program has ended, with its exit status. */
  get exited(): Promise<number | null> {
    return this.#exited;
  }

  /** Of the process that owns the terminal; the program is its child. */
  get pid(): number {
    return this.#child.pid ?? 0;
  }

  get size(): ScreenSize {
    return { columns: this.#terminal.cols, rows: this.#terminal.rows };
  }

  /** What a person sees: every row of the terminal, without trailing blanks. */
  grid(): string[] {
    const { active } = this.#terminal.buffer;
    const { cols } = this.#terminal;
    return Array.from({ length: this.#terminal.rows }, (_, row) =>
      (active.getLine(active.baseY + row)?.translateToString(true, 0, cols) ?? "").trimEnd(),
    );
  }

  /** Whether the program has the terminal's second screen. */
  get isAlternate(): boolean {
    return this.#terminal.buffer.active.type === "alternate";
  }

  resize(size: ScreenSize): void {
    this.resizeUnheard(size);
    this.tellSize();
  }

  /** The terminal has another size, and over a slow line the program has not heard of it yet. */
  resizeUnheard({ columns, rows }: ScreenSize): void {
    this.#terminal.resize(columns, rows);
  }

  tellSize(): void {
    const tty = readFileSync(this.#ttyFile, "utf8").trim();
    const { columns, rows } = this.size;
    execFileSync("stty", ["-F", tty, "cols", String(columns), "rows", String(rows)]);
  }

  press(keys: string): void {
    this.#child.stdin?.write(keys);
  }

  /** Resolves as soon as this holds between two frames; it is asked again whenever bytes came. */
  until(holds: () => boolean): Promise<void> {
    return new Promise((done, fail) => {
      const ask = (): void => {
        if (this.#open > 0 || !holds()) return;
        this.#watchers.delete(ask);
        done();
      };
      this.#watchers.add(ask);
      this.#exited.then(() => {
        if (this.#watchers.delete(ask))
          fail(new Error(`It ended before that held; it showed:\n${this.grid().join("\n")}`));
      }, fail);
      ask();
    });
  }

  /** End the program, whatever it does. */
  async dispose(): Promise<void> {
    this.#child.kill("SIGTERM");
    await this.#exited;
    this.#terminal.dispose();
    rmSync(this.#folder, { recursive: true, force: true });
  }

  #take(chunk: Buffer): void {
    const text = chunk.toString("latin1");
    this.#terminal.write(chunk, () => {
      // Begins and ends never share a chunk boundary inside themselves often enough to matter: a
      // frame that is missed is asked for again with the next one.
      const ended = text.split(FRAME_END).length - 1;
      for (let frame = 0; frame < ended; frame += 1) this.frameMs.push(performance.now());
      this.#open = Math.max(0, this.#open + text.split(FRAME_BEGIN).length - 1 - ended);
      for (const ask of [...this.#watchers]) ask();
    });
  }
}
