import { describe, expect, it } from "vitest";
import { type AnyBenchError, BenchError, isBenchError } from "../../src/bench/bench-error.ts";

const port = "/dev/ttyACM0";
const command = "ROUT:CLOS (@1)";

/** One of each, with the words its long message must carry. */
const EACH: readonly (readonly [error: AnyBenchError, words: readonly string[]])[] = [
  [new BenchError("port-missing", { port, present: ["/dev/ttyUSB0"] }), [port, "/dev/ttyUSB0"]],
  [new BenchError("port-missing", { port, present: [] }), [port, "plug"]],
  [new BenchError("port-busy", { port, holders: ["minicom (process 7)"] }), [port, "minicom"]],
  [new BenchError("port-busy", { port, holders: [] }), [port, "another program"]],
  [
    new BenchError("port-not-permitted", { port, group: "dialout" }),
    [port, '"dialout"', "sudo usermod -aG dialout $USER", "log out and in"],
  ],
  [new BenchError("port-not-permitted", { port, group: null }), [port, "permission"]],
  [new BenchError("port-not-serial", { port, is: "a directory" }), [port, "a directory"]],
  [new BenchError("port-vanished", { port }), [port, "cable"]],
  [new BenchError("port-open-timeout", { port, limitMs: 5000 }), [port, "5000 ms"]],
  [new BenchError("port-open-failed", { port }), [port, "500000 baud"]],
  [new BenchError("port-close-failed", { port, limitMs: 2000 }), [port, "2000 ms"]],
  [new BenchError("no-answer", { port, waitedMs: 4400 }), [port, "4400 ms", "*IDN?"]],
  [new BenchError("not-a-controller", { port, said: "\u001b[2Jhi" }), [port, "\\u001b[2Jhi"]],
  [
    new BenchError("protocol-unsupported", { port, expected: "1", received: "2" }),
    [port, "protocol 1", "speaks 2"],
  ],
  [new BenchError("wiring-disagrees", { port, differences: ["a", "b"] }), [port, "a; b"]],
  [
    new BenchError("refused", { command, number: 101, text: "Trip latched", attempt: 1 }),
    [command, "101", "Trip latched", "TRIP:CLE"],
  ],
  [new BenchError("reply-lost", { command, attempts: 2, waitedMs: 400.4 }), [command, "400 ms"]],
  [new BenchError("reply-malformed", { command, received: "?" }), [command, '"?"']],
  [new BenchError("overtaken", { command }), [command]],
  [new BenchError("queue-full", { command, waiting: 64 }), [command, "64"]],
  [new BenchError("unknown-name", { kind: "line", name: "SET" }), ['line "SET"']],
  [new BenchError("controller-restarted", { cause: "BOR" }), ["BOR", "connect afresh"]],
  [new BenchError("link-lost", { port, reason: "unplugged" }), [port, "unplugged"]],
  [new BenchError("closed", { port }), [port]],
];

describe("BenchError", () => {
  it.each(EACH)("%s says what came, where and what to do", (error, words) => {
    for (const word of words) expect(error.message).toContain(word);
    expect(error.shortMessage.length).toBeLessThanOrEqual(60);
    expect(error.message).not.toMatch(/undefined|\[object|\n|!/);
  });

  it("keeps the cause and is known for what it is", () => {
    const cause = new Error("EIO");
    const error: unknown = new BenchError("port-vanished", { port }, cause);
    expect(isBenchError(error) && error.cause).toBe(cause);
    expect(isBenchError(cause)).toBe(false);
  });

  it("bounds foreign text", () => {
    const error = new BenchError("not-a-controller", { port, said: "x".repeat(10_000) });
    expect(error.message.length).toBeLessThan(400);
  });
});
