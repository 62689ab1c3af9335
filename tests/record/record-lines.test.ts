/** The record as a page and as a block to paste: read the golden text as a person would. */
import { describe, expect, it } from "vitest";
import type { RunEvent } from "../../src/events/events.ts";
import { noReading } from "../../src/measure/reading.ts";
import type { AcceptanceRecord } from "../../src/record/acceptance-record.ts";
import { buildRecord } from "../../src/record/build-record.ts";
import { PASTE_COLUMNS, PASTE_LINES_MAX, pasteLines } from "../../src/record/paste-lines.ts";
import { RECORD_COLUMNS, recordLines } from "../../src/record/record-lines.ts";
import { judgeReading } from "../../src/verdict/judge.ts";
import { closed, healthyEvents, healthyUpTo, latchPlan, powerDown } from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";

function recordOf(events: readonly RunEvent[]): AcceptanceRecord {
  return buildRecord(writeRun(events).entries);
}

/** The healthy run up to the beginning of its first step. */
const toFirstStep = healthyUpTo((event) => event.kind === "step-begun" && event.step === 0);
const missed = judgeReading(noReading("Q", "torn"), "low", latchPlan);
const records: Readonly<Record<string, AcceptanceRecord>> = {
  pass: recordOf(healthyEvents),
  void: recordOf([
    ...toFirstStep,
    { kind: "reading", step: 0, part: "pattern", readings: [missed] },
    { kind: "step-ended", step: 0, result: "void" },
    ...powerDown,
    closed("void", "first fail"),
  ]),
  "cut-off": recordOf(toFirstStep),
  hand: recordOf(
    toFirstStep.map((event) =>
      event.kind === "run-opened" ? { ...event, mode: "hand" as const } : event,
    ),
  ),
};

describe.each(Object.entries(records))("the page of a run: %s", (name, record) => {
  it("is as its golden text has it", async () => {
    const page = `${recordLines(record).join("\n")}\n`;
    await expect(page).toMatchFileSnapshot(`../golden/records/${name}.txt`);
  });

  it("begins with the verdict and fits 80 columns", () => {
    const lines = recordLines(record);
    expect(lines[0]).toMatch(new RegExp(`^${record.verdict.toUpperCase()}  `));
    expect(lines.filter((line) => line.length > RECORD_COLUMNS)).toEqual([]);
  });

  it("says that it is no accredited report and what it does not show", () => {
    const page = recordLines(record).join(" ");
    expect(page).toContain("no accredited report");
    for (const claim of record.claims) expect(page.replaceAll(/\s+/g, " ")).toContain(claim);
  });

  it("can be pasted: plain ASCII, 72 columns, some sixty lines", () => {
    const lines = pasteLines(record);
    expect(lines.join("\n")).toMatch(/^[\x20-\x7e\n]+$/);
    expect(lines.filter((line) => line.length > PASTE_COLUMNS)).toEqual([]);
    expect(lines.length).toBeLessThanOrEqual(PASTE_LINES_MAX);
  });
});

describe("a block to paste", () => {
  const record = records["void"] ?? recordOf(healthyEvents);

  it("tells the stage that missed and its neighbours, and the readings on the way there", () => {
    const text = pasteLines(record).join("\n");
    expect(text).toContain("First miss:");
    expect(text).toMatch(/Q no reading \(low\s+wanted\)/);
  });

  it("has nothing of this computer: no path, and letters of other scripts reduced", () => {
    const titled = { ...record, board: { ...record.board, title: "Röhre /home/ab/latch" } };
    const text = pasteLines(titled).join("\n");
    expect(text).toContain("Rohre");
    expect(pasteLines(record).join("\n")).not.toMatch(/\/(home|tmp|dev)\//);
  });

  it("stays short for a board with many stages and a title without end", () => {
    const stages = Array.from({ length: 40 }, (_, index) => ({
      stage: `V${index}a`,
      type: "nor",
      position: `V${index}`,
      section: "a",
      inputs: [`N${index}`],
      output: `N${index + 1}`,
    }));
    const long = { ...record, stages, board: { ...record.board, title: "x".repeat(300) } };
    const lines = pasteLines(long);
    expect(lines.length).toBeLessThanOrEqual(PASTE_LINES_MAX);
    expect(lines.filter((line) => line.length > PASTE_COLUMNS)).toEqual([]);
  });
});
