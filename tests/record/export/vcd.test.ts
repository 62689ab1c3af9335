import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import type { JournalEntry, RunEvent } from "../../../src/events/events.ts";
import { noReading } from "../../../src/measure/reading.ts";
import { VcdWriter } from "../../../src/record/export/vcd.ts";
import { healthyEvents, opened, reading } from "../../journal/latch-run.ts";
import { writeRun } from "../../journal/write-run.ts";
import { readVcd } from "./vcd-reader.ts";

const references = join(import.meta.dirname, "../../references/logic/vcd");
const facts = JSON.parse(readFileSync(join(references, "vcd.json"), "utf8"));

function dumpOf(entries: readonly JournalEntry[]): string {
  const writer = new VcdWriter();
  return entries.map((entry) => writer.take(entry)).join("") + writer.end();
}

function timed(...events: readonly (readonly [ms: number, event: RunEvent])[]): JournalEntry[] {
  return events.map(([ms, event], n) => ({ n, ms, before: "", event }));
}

describe("the strict reader, on published examples", () => {
  it.each(["example", "example_iverilog"])("recovers every value of %s at every time", (name) => {
    const { file, variables, columns, values_after_each_time: rows, timescale } = facts[name];
    const dump = readVcd(readFileSync(join(references, file), "utf8"));
    expect(dump.timescale).toBe(timescale);
    expect(
      dump.variables.map(({ path, type, width, code }) => ({ path, type, width, id: code })),
    ).toEqual(
      variables.map(({ path, type, width, id }: Record<string, unknown>) => ({
        path,
        type,
        width,
        id,
      })),
    );
    for (const [time, ...values] of rows) {
      const found = values.map((value: unknown, at: number) => {
        const read = dump.valueAt(columns[at + 1], time);
        return typeof value === "number" ? Number(read) : read;
      });
      expect(found).toEqual(values);
    }
  });

  it("refuses what the grammar does not have", () => {
    const head = "$timescale 1 ms $end $var wire 1 ! Q $end $enddefinitions $end";
    expect(() => readVcd(`${head} #5 1! #4 0!`)).toThrow(/time 4/);
    expect(() => readVcd(`${head} #0 2!`)).toThrow(/token/);
    expect(() => readVcd(`${head} #0 1"`)).toThrow();
    expect(() => readVcd(`${head} 1!`)).toThrow(/before any time/);
    expect(() => readVcd("$var wire 1 ! Q $end $enddefinitions $end")).toThrow(/timescale/);
  });
});

describe("VcdWriter", () => {
  const { entries } = writeRun(healthyEvents);
  const dump = readVcd(dumpOf(entries));
  const at = (kind: string) => {
    const found = entries.find(({ event }) => event.kind === kind);
    if (found === undefined) throw new Error(`no ${kind}`);
    return found.ms;
  };
  const endMs = entries.at(-1)?.ms ?? 0;

  it("writes in milliseconds, from the opening of the run to its last line", () => {
    expect(dump.timescale).toBe("1ms");
    expect(dump.times[0]).toBe(0);
    expect(dump.times.at(-1)).toBe(endMs);
  });

  it("tells lines as driven, nets by class, rails on and off, volts as read, the step", () => {
    const ms = at("reading");
    expect(dump.valueAt("flasher_latch.driven.RESET", ms)).toBe("1");
    expect(dump.valueAt("flasher_latch.read.Q", ms)).toBe("0");
    expect(dump.valueAt("flasher_latch.read.QN", ms)).toBe("1");
    expect(dump.valueAt("flasher_latch.expected.Q", ms)).toBe("0");
    expect(Number(dump.valueAt("flasher_latch.volts.QN", ms))).toBe(44.8);
    expect(dump.valueAt("flasher_latch.rails.plate", ms)).toBe("1");
    expect(dump.valueAt("flasher_latch.rails.plate", endMs)).toBe("0");
    expect(parseInt(dump.valueAt("flasher_latch.step.step", ms), 2)).toBe(1);
  });

  it("has a wave of what the model says where it says otherwise than the file, and else none", () => {
    if (opened.kind !== "run-opened") throw new Error("the run does not begin with its plan");
    const { plan } = opened;
    const steps = plan.steps.map((step, index) =>
      index === 0 ? { ...step, modelSays: { Q: "high" as const } } : step,
    );
    const doubted = healthyEvents.map((event) =>
      event.kind === "run-opened" ? { ...event, plan: { ...plan, steps } } : event,
    );
    const ms = at("reading");
    const found = readVcd(dumpOf(writeRun(doubted).entries));
    const told = ["model.Q", "expected.Q", "read.Q", "model.QN", "expected.QN"];
    expect(told.map((name) => found.valueAt(`flasher_latch.${name}`, ms))).toEqual([
      ...["1", "0", "0"],
      ...["1", "1"],
    ]);
    expect(dump.variables.some(({ path }) => path.includes(".model."))).toBe(false);
  });

  it("knows nothing before the first look", () => {
    expect(dump.valueAt("flasher_latch.read.Q", 0)).toBe("x");
    expect(dump.valueAt("flasher_latch.volts.Q", 0)).toBe("none");
  });

  it("has x for between and for no reading, and tells the two apart", () => {
    const found = readVcd(
      dumpOf(
        timed(
          [0, opened],
          [10, { kind: "watch", readings: [reading("Q", 25), reading("QN", 40)] }],
          [20, { kind: "watch", readings: [noReading("QN", "clipped")] }],
          [20, { kind: "watch", readings: [reading("Q", 40)] }],
        ),
      ),
    );
    const row = (ms: number) =>
      ["read.Q", "unread.Q", "read.QN", "unread.QN", "volts.QN"].map((name) =>
        found.valueAt(`flasher_latch.${name}`, ms),
      );
    expect(row(10)).toEqual(["x", "0", "1", "0", "40"]);
    expect(row(20)).toEqual(["1", "0", "x", "1", "40"]);
  });

  it("writes a change once, and nothing where nothing changed", () => {
    const same: RunEvent = { kind: "watch", readings: [reading("Q", 40)] };
    const text = dumpOf(timed([0, opened], [10, same], [20, same], [30, same]));
    expect(text.match(/^r40 /gm)).toHaveLength(1);
    expect(text).not.toContain("#20");
    expect(text.trimEnd().endsWith("#30")).toBe(true);
  });

  it("keeps its grammar whatever nets and boards are called, and every net its own name", () => {
    const names = ["$end", "a b", "a_b", "\u00e9\n#5", "1!"];
    const [net, ...rest] = names;
    const json = JSON.stringify(entries)
      .replaceAll('"QN"', JSON.stringify(net))
      .replaceAll('"Q"', JSON.stringify(rest[0]))
      .replaceAll('"SET"', JSON.stringify(rest[1]))
      .replaceAll('"RESET"', JSON.stringify(rest[2]))
      .replaceAll('"flasher-latch"', JSON.stringify(rest[3]));
    const odd = readVcd(dumpOf(JSON.parse(json)));
    expect(odd.variables).toHaveLength(dump.variables.length);
    expect(odd.times).toEqual(dump.times);
  });

  it("gives every variable a code of its own, more than 94 of them too", () => {
    if (opened.kind !== "run-opened") throw new Error("a run begins with its opening");
    const [first] = opened.plan.channels;
    if (first === undefined) throw new Error("a plan has channels");
    const channels = Array.from({ length: 300 }, (_, at) => ({ ...first, name: `net${at}` }));
    const event = { ...opened, plan: { ...opened.plan, channels } };
    const { variables } = readVcd(dumpOf(timed([0, event])));
    expect(new Set(variables.map(({ code }) => code)).size).toBe(variables.length);
  });
});
