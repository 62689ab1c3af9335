/**
 * Lines from standard input, prompts to standard output: a terminal with its line editing, a dumb
 * one, a remote one, or a pipe. Nothing is drawn and no cursor is moved.
 */
import { createInterface } from "node:readline";
import type { Heard, Talker } from "./talk.ts";

export interface TalkingStreams {
  readonly stdin: NodeJS.ReadableStream & { readonly isTTY?: boolean };
  readonly stdout: NodeJS.WritableStream;
}

export interface LineTalker extends Talker {
  readonly close: () => void;
}

export function lineTalker({ stdin, stdout }: TalkingStreams): LineTalker {
  const isPerson = stdin.isTTY === true;
  const reader = createInterface({ input: stdin, output: stdout, terminal: isPerson });
  const lines: string[] = [];
  let isOver = false;
  let waiting: ((heard: Heard) => void) | null = null;
  const hand = (): void => {
    if (waiting === null) return;
    const text = lines.shift();
    if (text === undefined && !isOver) return;
    const tell = waiting;
    waiting = null;
    tell(text === undefined ? { kind: "over" } : { kind: "line", text });
  };
  reader.on("line", (text) => {
    lines.push(text);
    hand();
  });
  reader.on("SIGINT", () => reader.close());
  reader.on("close", () => {
    isOver = true;
    hand();
  });
  return {
    isPerson,
    say: (line) => {
      stdout.write(`${line}\n`);
    },
    hear: (prompt) =>
      new Promise((resolve) => {
        waiting = resolve;
        if (isPerson && !isOver) {
          reader.setPrompt(prompt);
          reader.prompt();
        }
        hand();
      }),
    close: () => reader.close(),
  };
}
