import { Writable } from "node:stream";
import { describe, expect, it } from "vitest";
import { createLineOutput } from "../../../src/commands/prove/line-output.ts";

/** A reader that takes nothing until it is told to. */
function slowReader() {
  const taken: string[] = [];
  let waiting: (() => void) | null = null;
  const stream = new Writable({
    decodeStrings: false,
    write(chunk: string, _encoding, done) {
      taken.push(chunk);
      waiting = done;
    },
  });
  return {
    stream,
    taken,
    take: () => {
      const done = waiting;
      waiting = null;
      done?.();
    },
  };
}

describe("createLineOutput(options)", () => {
  it("keeps what a slow reader has not taken, up to its bound, and counts the rest", () => {
    const { stream, taken, take } = slowReader();
    const output = createLineOutput({
      stream,
      gone: () => false,
      leftOutLine: (count) => `(${count} left out)`,
      waitingBytesMax: 20,
    });
    for (let line = 0; line < 10; line += 1) output.write(`line ${line}`);
    for (let turn = 0; turn < 10; turn += 1) take();
    output.write("after");
    for (let turn = 0; turn < 10; turn += 1) take();
    expect(taken.join("")).toBe("line 0\nline 1\nline 2\n(7 left out)\nafter\n");
  });

  it("writes nothing once the reader is gone", () => {
    const { stream, taken } = slowReader();
    const output = createLineOutput({ stream, gone: () => true, leftOutLine: null });
    output.write("nobody reads this");
    expect(taken).toEqual([]);
  });
});
