/** The talk at the bench: a person on the supply, channels that follow it, a meter that may fail. */
import { describe, expect, it } from "vitest";
import { MeterError } from "../../src/bench/scpi-meter.ts";
import type { CodesRead } from "../../src/commands/calibrate/code-reader.ts";
import { type BenchTalk, conversePoints } from "../../src/commands/calibrate/converse-points.ts";
import { PointBook } from "../../src/commands/calibrate/point-book.ts";
import { untilAborted } from "../../src/commands/calibrate/until-aborted.ts";
import { UsageError } from "../../src/commands/usage-error.ts";
import type { Talker } from "../../src/commands/write/talk.ts";
import type { PlannedChannel } from "../../src/events/plan.ts";
import { partLimits } from "../../src/measure/fit-calibration.ts";
import { calibrationGroups } from "../../src/plan/calibration-groups.ts";

function net(name: string, number: number): PlannedChannel {
  const divider = { topOhm: 1_000_000, bottomOhm: 100_000, pullUpOhm: null };
  return { name, number, reads: { kind: "net", net: name }, divider, referenceV: 5 };
}

/** Q and QN on one supply; `seen` says what each of them reads of it. */
async function talked(
  lines: readonly string[],
  given: {
    readonly seen?: (channel: string, volts: number) => number;
    readonly moved?: readonly string[];
    readonly meter?: BenchTalk["meter"];
    readonly isPerson?: boolean;
  } = {},
) {
  const { seen = (_channel, volts) => volts, moved = [], meter = null, isPerson = true } = given;
  const said: string[] = [];
  const left = [...lines];
  let supplyV = 0;
  const talker: Talker = {
    isPerson,
    say: (line) => said.push(line),
    hear: async (prompt) => {
      said.push(prompt);
      const text = left.shift();
      if (text === undefined) return { kind: "over" };
      // What is typed is what the supply was set to before; a meter is asked of 20 V.
      if (text !== "" && Number.isFinite(Number(text))) supplyV = Number(text);
      return { kind: "line", text };
    },
  };
  const book = new PointBook({}, () => undefined);
  const read = async (channels: readonly PlannedChannel[]): Promise<CodesRead> => ({
    codes: new Map(
      channels.map(({ name }) => {
        const code = Math.round((seen(name, supplyV) / 55) * 1024);
        return [name, { channel: name, sum: 64 * code, count: 64, min: code, max: code }];
      }),
    ),
    reference: null,
    moved,
    isReferenceLost: false,
  });
  const channels = [net("Q", 7), net("QN", 8)];
  const done = await conversePoints({
    groups: calibrationGroups(channels, null),
    talker,
    meter,
    reader: { read },
    book,
    limits: partLimits(undefined, false),
  });
  return { done, said: said.join("\n"), book };
}

describe("the talk at the bench", () => {
  it("names the leads, asks for a low and a high point, and ends when they have them", async () => {
    const { done, said, book } = await talked(["5.003", "46.02", "done"]);
    expect(done).toBe(true);
    expect(said).toContain("Leads 1 of 1: Q, QN, from 0 V to 55 V.");
    expect(said).toContain("Point 1, a low one, about 5.5 V: meter volts ");
    expect(said).toContain("Point 2, a high one, about 47 V: meter volts ");
    expect(said).toContain("Point 3, another, or done");
    expect(book.of("QN").map(({ meterV, digitV }) => [meterV, digitV])).toEqual([
      [5.003, expect.closeTo(0.001, 9)],
      [46.02, expect.closeTo(0.01, 9)],
    ]);
  });

  it("does not end on one point, on equal points or on points too near, and says which is missing", async () => {
    const { said, done } = await talked(["5", "done", "5", "done", "9", "done", "46", "done"]);
    expect(said).toContain("Q: 1 points, and a line needs two.");
    expect(said).toContain("QN: all points are at 5 V.");
    expect(said).toMatch(/Q: the points span 4 V, too near/);
    expect(done).toBe(true);
  });

  it("takes no point when one lead is not on the supply, and goes on without it when told to", async () => {
    const seen = (channel: string, volts: number) => (channel === "QN" ? 0.5 : volts);
    const { said, book, done } = await talked(["5", "leave QN", "5", "46", "done"], { seen });
    expect(said).toMatch(/QN: the meter says 5 V/);
    expect(said).toContain("The point was not taken.");
    expect(done).toBe(true);
    expect(book.of("Q")).toHaveLength(2);
    expect(book.of("QN")).toHaveLength(0);
    expect([...book.left]).toEqual(["QN"]);
  });

  it("takes a point back, and knows when there is none", async () => {
    const { book, said } = await talked(["5", "undo", "undo", "46"]);
    expect(said).toContain("Taken back.");
    expect(said).toContain("There is no point to take back.");
    expect(book.of("Q").map(({ meterV }) => meterV)).toEqual([46]);
  });

  it("takes no point while the supply moves", async () => {
    const { book, said } = await talked(["5"], { moved: ["Q"] });
    expect(said).toContain("Q moved while being read: wait until the supply stands still.");
    expect(book.isEmpty).toBe(true);
  });

  it("takes nothing that is no voltage, and ends unfinished when the input does", async () => {
    const { done, said, book } = await talked(["5,003", "leave X", "five"]);
    expect(done).toBe(false);
    expect(said).toContain("expected a point, not a comma");
    expect(said).toContain('Expected "leave" and one of Q, QN.');
    expect(book.isEmpty).toBe(true);
  });

  it("asks a meter at Enter, and goes on by typing when it fails, with nothing lost", async () => {
    const answers = ["silent", "46.02"];
    const meter = {
      read: async () => {
        const answer = answers.shift();
        if (answer !== "46.02") throw new MeterError("Meter on /dev/x: it did not answer READ?");
        return { meterV: 46.02, digitV: 0.01 };
      },
    };
    const { book, said, done } = await talked(["5.003", "", "46.02", "done"], { meter });
    expect(said).toContain("Meter on /dev/x: it did not answer READ?");
    expect(book.of("Q").map(({ meterV }) => meterV)).toEqual([5.003, 46.02]);
    expect(done).toBe(true);
  });

  it("ends at once where a pipe answers and an answer is refused: the next would answer something else", async () => {
    await expect(talked(["five", "46"], { isPerson: false })).rejects.toThrow(UsageError);
  });
});

describe("untilAborted()", () => {
  const waiting: Talker = {
    isPerson: true,
    say: () => undefined,
    hear: () => new Promise(() => undefined),
  };

  it("ends a question that nobody answers when a stop signal comes, and asks no more", async () => {
    const ended = new AbortController();
    const talker = untilAborted(waiting, ended.signal);
    const heard = talker.hear("volts ");
    ended.abort();
    expect(await heard).toEqual({ kind: "over" });
    expect(await talker.hear("volts ")).toEqual({ kind: "over" });
  });

  it("hands on what is typed", async () => {
    const typed: Talker = { ...waiting, hear: async () => ({ kind: "line", text: "5" }) };
    const talker = untilAborted(typed, new AbortController().signal);
    expect(await talker.hear("volts ")).toEqual({ kind: "line", text: "5" });
  });
});
