/** Notes beside the runs: what they may say, and how entries get into them. */

import { describe, expect, it } from "vitest";
import { parse } from "yaml";
import { withBaseline, withTubeNote } from "../../src/formats/edit-notes.ts";
import { loadNotes } from "../../src/formats/notes.schema.ts";
import { problemLines } from "../../src/formats/problem.ts";

function problemsOf(text: string): string[] {
  const loaded = loadNotes(text, "notes.yaml");
  return loaded.ok ? [] : problemLines(loaded.problems);
}

const head = "format: holdfast-notes\nversion: 1\n";
const tube = (entry: string) => `${head}tubes:\n  LV-T031:\n    - ${entry}\n`;

describe("holdfast-notes", () => {
  it("may be empty but for its name", () => {
    expect(problemsOf(head)).toEqual([]);
  });

  it.each([
    ["{ date: 2026-05-01 }", "notes.yaml:5:7: "],
    ["{ date: 2026-05-01, removed: low, note: high }", "notes.yaml:5:7: "],
    ["{ date: 2026-05-01, removed: low, found: weak }", "notes.yaml:5:7: "],
    ["{ date: 1 May, removed: low }", "notes.yaml:5:15: "],
    ["{ date: 2026-05-01, remvd: low }", "notes.yaml:5:27: "],
  ])("refuses %s at its place", (entry, place) => {
    expect(problemsOf(tube(entry))).toContainEqual(expect.stringMatching(`^${place}`));
  });

  it("refuses a later version by name", () => {
    expect(problemsOf(head.replace("1", "2"))[0]).toContain("version 2 is newer");
  });
});

describe("entries", () => {
  const note = { date: "2026-05-04", retest: "9.6 mA: fine", found: "good" as const };

  it("begin a file", () => {
    const text = withTubeNote(null, "LV-T031", note);
    expect(problemsOf(text)).toEqual([]);
    expect(parse(text)).toEqual({
      format: "holdfast-notes",
      version: 1,
      tubes: { "LV-T031": [note] },
    });
  });

  it("come after what is there, one a line, and leave comments alone", () => {
    const before = `${head}# kept by AB\ntubes:\n  LV-T031:\n    - { date: 2026-05-01, removed: low } # in the fog\n`;
    const text = withBaseline(withTubeNote(before, "LV-T031", note), { run: "first" });
    expect(text.startsWith(before)).toBe(true);
    expect(text.slice(before.length).split("\n")).toHaveLength(4);
    expect(parse(text)).toMatchObject({
      tubes: { "LV-T031": [{ removed: "low" }, note] },
      baselines: [{ run: "first" }],
    });
  });

  it("find their place under a key that was left empty", () => {
    const text = withTubeNote(`${head}tubes:\n`, "LV-T031", note);
    expect(parse(text)).toMatchObject({ tubes: { "LV-T031": [note] } });
  });

  it("keep a serial that looks like a number", () => {
    const text = withTubeNote(null, "031", note);
    expect(problemsOf(text)).toEqual([]);
    expect(Object.keys(parse(text, { stringKeys: true }).tubes)).toEqual(["031"]);
  });
});
