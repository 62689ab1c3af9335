/**
 * A simulated bench in a process of its own, on a pseudo-terminal, paced by wall time: whatever
 * becomes of the host, this end goes on as a bench on a table would.
 */
import { closeSync, lstatSync, openSync, symlinkSync, unlinkSync, writeSync } from "node:fs";
import { createInterface } from "node:readline";
import type { Readable } from "node:stream";
import { createEmulatedClock } from "../../clock/emulated-clock.ts";
import type { BenchLogEntry } from "../bench-log.ts";
import { type BenchControl, parseControlLine } from "./control-line.ts";
import { openPseudoTerminal, type PseudoTerminal } from "./pseudo-terminal.ts";
import type { ServedController } from "./served-controller.ts";

export interface ServeBenchOptions {
  readonly controller: ServedController;
  /** Emulated ms per real ms. */
  readonly pace: number;
  /** Where the controller's 5 V comes from: with `bus`, pulling the cable takes it away too. */
  readonly powered: "bus" | "separate";
  /** Symbolic link to keep pointing at the terminal. */
  readonly linkPath?: string;
  /** File for what the bench itself sees, one JSON object a line, `ms` in emulated time. */
  readonly logPath?: string;
  /** Lines of JSON, see control-line.ts. */
  readonly controls?: Readable;
  /** Stop when the controls end, so that no bench outlives the process that started it. */
  readonly stopWhenControlsEnd?: boolean;
  /** Told the path of the terminal when it is ready, and again after each `plug`. */
  readonly onReady: (path: string) => void;
  /** Told of a control line that is refused. */
  readonly onRefused: (message: string) => void;
}

export interface ServedBench {
  /** Resolves when the bench has stopped. */
  readonly stopped: Promise<void>;
  /** Path of the terminal now; null while unplugged. */
  path(): string | null;
  nowMs(): number;
  act(control: BenchControl): void;
  stop(): void;
}

/** @throws Error when no pseudo-terminal, link or log file can be made */
export function serveBench(options: ServeBenchOptions): ServedBench {
  const { controller } = options;
  controller.startAlone();
  const logFile = options.logPath === undefined ? null : openLog(options.logPath, controller);
  const line = createServedLine(controller, options);
  let running = true;
  const clock = createEmulatedClock(
    {
      nowMs: controller.nowMs,
      advance(untilMs) {
        line.lookForClients();
        controller.advance(untilMs);
      },
      deliver() {
        const bytes = controller.takeSent();
        line.give(bytes);
        logFile?.flush();
        return bytes.length > 0;
      },
      isConnected: () => running,
    },
    { paceRatio: options.pace },
  );
  let tellStopped: () => void = () => undefined;
  const stopped = new Promise<void>((resolve) => {
    tellStopped = resolve;
  });
  const stop = (): void => {
    if (running) {
      running = false;
      clock.dispose();
      line.unplug();
      logFile?.close();
      tellStopped();
    }
  };
  const act = (control: BenchControl): void => {
    applyControl(control, { controller, line, powered: options.powered, stop });
    clock.wake();
  };
  line.onBytes = (bytes) => {
    controller.send(bytes);
    clock.wake();
  };
  line.plug();
  readControls(options, act, stop);
  clock.wake();
  return { stopped, path: line.path, nowMs: controller.nowMs, act, stop };
}

interface ServedLine {
  onBytes: (bytes: Uint8Array) => void;
  path(): string | null;
  plug(): void;
  unplug(): void;
  give(bytes: Uint8Array): void;
  /** Notice clients that opened or closed the terminal; an opening resets the controller. */
  lookForClients(): void;
}

function createServedLine(controller: ServedController, options: ServeBenchOptions): ServedLine {
  let terminal: PseudoTerminal | null = null;
  let clients = 0;
  const note = (state: "opened" | "closed" | "unplugged"): void =>
    controller.log.write({ ms: controller.nowMs(), kind: "link", state });

  const line: ServedLine = {
    onBytes: () => undefined,
    path: () => terminal?.path ?? null,
    plug() {
      if (terminal !== null) {
        return;
      }
      const opened = openPseudoTerminal();
      terminal = opened;
      opened.onBytes((bytes) => {
        line.lookForClients();
        if (terminal === opened) {
          line.onBytes(bytes);
        }
      });
      if (options.linkPath !== undefined) {
        replaceLink(options.linkPath, opened.path);
      }
      options.onReady(opened.path);
    },
    unplug() {
      if (terminal !== null) {
        terminal.close();
        terminal = null;
        clients = 0;
        if (options.linkPath !== undefined) {
          removeLink(options.linkPath);
        }
        note("unplugged");
      }
    },
    give(bytes) {
      // Nobody listens to a closed port: a driver keeps nothing for whoever opens it next.
      if (clients > 0 && bytes.length > 0) {
        terminal?.write(bytes);
      }
    },
    lookForClients() {
      for (const event of terminal?.pollClients() ?? []) {
        clients += event === "opened" ? 1 : -1;
        if (event === "opened" && clients === 1) {
          // The port's DTR line rises with the first opener and pulls the controller's reset.
          terminal?.flush();
          controller.takeSent();
          note("opened");
          controller.reset("EXT");
        } else if (event === "closed" && clients === 0) {
          note("closed");
        }
      }
    },
  };
  return line;
}

function applyControl(
  control: BenchControl,
  bench: {
    readonly controller: ServedController;
    readonly line: ServedLine;
    readonly powered: "bus" | "separate";
    readonly stop: () => void;
  },
): void {
  const { controller, line, powered } = bench;
  switch (control.do) {
    case "reset":
      controller.reset("EXT");
      return;
    case "brown-out":
      controller.reset("BOR");
      return;
    case "cut-5v":
      controller.setSupply(false);
      return;
    case "restore-5v":
      controller.setSupply(true);
      return;
    case "lose-data":
      controller.setLosing(true);
      return;
    case "carry-data":
      controller.setLosing(false);
      return;
    case "unplug":
      line.unplug();
      if (powered === "bus") {
        controller.setSupply(false);
      }
      return;
    case "plug":
      line.plug();
      if (powered === "bus") {
        controller.setSupply(true);
      }
      return;
    case "change": {
      const { part, parameter, value, atMs } = control;
      controller.change({ part, parameter, value, atMs: atMs ?? null });
      return;
    }
    case "mark":
      controller.log.write({ ms: controller.nowMs(), kind: "mark", text: control.text });
      return;
    case "quit":
      bench.stop();
  }
}

function readControls(
  options: ServeBenchOptions,
  act: (control: BenchControl) => void,
  stop: () => void,
): void {
  if (options.controls === undefined) {
    return;
  }
  const lines = createInterface({ input: options.controls });
  lines.on("line", (text) => {
    if (text.trim() === "") {
      return;
    }
    try {
      act(parseControlLine(text));
    } catch (cause) {
      options.onRefused(cause instanceof Error ? cause.message : String(cause));
    }
  });
  lines.on("close", () => {
    if (options.stopWhenControlsEnd === true) {
      stop();
    }
  });
}

function openLog(path: string, controller: ServedController): { flush(): void; close(): void } {
  const fd = openSync(path, "w");
  let waiting = "";
  const flush = (): void => {
    if (waiting !== "") {
      writeSync(fd, waiting);
      waiting = "";
    }
  };
  controller.log.listen((entry: BenchLogEntry) => {
    waiting += `${JSON.stringify(entry)}\n`;
  });
  return {
    flush,
    close() {
      flush();
      closeSync(fd);
    },
  };
}

function removeLink(path: string): void {
  const found = lstatSync(path, { throwIfNoEntry: false });
  if (found === undefined) {
    return;
  }
  if (!found.isSymbolicLink()) {
    throw new Error(`expected no file or a symbolic link at ${path}; choose another link path`);
  }
  unlinkSync(path);
}

function replaceLink(path: string, target: string): void {
  removeLink(path);
  symlinkSync(target, path);
}
