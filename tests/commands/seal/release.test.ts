import {
  appendFileSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  utimesSync,
  writeFileSync,
} from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { sha256Hex } from "../../../src/journal/line.ts";
import { parseRecord } from "../../../src/record/read-record.ts";
import { healthyUpTo } from "../../journal/latch-run.ts";
import { Bench, eventsOf } from "./run-folder.ts";

let bench: Bench;
beforeEach(async () => {
  bench = new Bench();
  await bench.key("make", "cabin");
});
afterEach(() => {
  bench.dispose();
});

function recordIn(folder: string) {
  return parseRecord(readFileSync(join(folder, "record.json"), "utf8"));
}

describe("releaseCommand(run)", () => {
  it("makes a folder with number, release and seal, and leaves the run as it was", async () => {
    const before = readdirSync(bench.run);
    const journal = readFileSync(join(bench.run, "journal.ndjson"));
    const { status, out, error } = await bench.release({ by: "Ada of the lamp crew" });
    expect(status).toBe(0);
    expect(out).toMatch(/Record 20260502-[0-9a-f]{8}-1 is released: PASS/);
    const folder = join(bench.run, "released-1");
    expect(readdirSync(bench.run)).toEqual([...before, "released-1"].sort());
    expect(recordIn(folder)).toMatchObject({
      status: "released",
      verdict: "pass",
      release: {
        by: "Ada of the lamp crew",
        corrects: null,
        notAttached: [{ role: "sequence", name: "sequence.yaml" }],
      },
    });
    expect(error).toContain("sequence file sequence.yaml is no longer as it was");
    expect(readFileSync(join(folder, "journal.ndjson")).equals(journal)).toBe(true);
    for (const name of ["record.txt", "record.html"]) {
      const page = readFileSync(join(folder, name), "utf8");
      expect(page).toContain("by Ada of the lamp crew");
      expect(page).not.toContain("draft");
    }
  });

  it("attaches what lies beside and the files of the method that are still what they were", async () => {
    writeFileSync(join(bench.run, ".hidden"), "x");
    writeFileSync(join(bench.run, "record.json.new"), "x");
    writeFileSync(join(bench.run, "schön.txt"), "x");
    const { error } = await bench.release();
    const sums = readFileSync(join(bench.run, "released-1", "SHA256SUMS"), "utf8");
    expect(
      sums
        .trim()
        .split("\n")
        .map((line) => line.slice(66)),
    ).toEqual([
      "SHA256BLOCKS",
      "files/board.yaml",
      "journal.ndjson",
      "readings.csv",
      "record.html",
      "record.json",
      "record.txt",
    ]);
    expect(error).toContain("schön.txt is not sealed");
  });

  it("says that nobody is named rather than naming somebody", async () => {
    await bench.release();
    const folder = join(bench.run, "released-1");
    expect(recordIn(folder).release?.by).toBeNull();
    const page = readFileSync(join(folder, "record.txt"), "utf8");
    expect(page).toContain("by a person who is not named");
    expect(page).toMatch(/Left blank[\s\S]*who released it/);
  });

  it("never writes over a released record: again is refused, a correction is another", async () => {
    await bench.release({ by: "Ada" });
    const first = join(bench.run, "released-1");
    const bytes = readFileSync(join(first, "record.json"));
    await expect(bench.release()).rejects.toThrow(/--corrects .*released-1 --why/);
    await expect(bench.release({}, first)).rejects.toThrow(/released already/);
    const { out } = await bench.release({ corrects: first, why: "the unit was FL-08" });
    expect(out).toContain("takes the place of record");
    expect(readFileSync(join(first, "record.json")).equals(bytes)).toBe(true);
    const second = recordIn(join(bench.run, "released-2"));
    expect(second.release?.corrects).toEqual({
      number: recordIn(first).number,
      sha256: sha256Hex(bytes),
      why: "the unit was FL-08",
    });
    expect(second.number).toMatch(/-2$/);
    expect(
      readFileSync(join(bench.run, "released-2", "record.txt"), "utf8").replaceAll(/\s+/g, " "),
    ).toContain(": the unit was FL-08");
  });

  it("corrects the newest record of a run, and a record of another run that has none", async () => {
    await bench.release();
    const first = join(bench.run, "released-1");
    await bench.release({ corrects: first, why: "a" });
    await expect(bench.release({ corrects: first, why: "b" })).rejects.toThrow(/newest record/);
    const again = bench.makeRun("second", eventsOf("2026-05-02T10:02:41.000+00:00"));
    await bench.release({ corrects: first, why: "proved again" }, again);
    expect(recordIn(join(again, "released-1")).release?.corrects?.why).toBe("proved again");
  });

  it("corrects no record that is not as it was sealed, and none without a reason", async () => {
    await bench.release();
    const first = join(bench.run, "released-1");
    await expect(bench.release({ corrects: first })).rejects.toThrow(/--why/);
    await expect(bench.release({ why: "a" })).rejects.toThrow(/--corrects/);
    await expect(bench.release({ corrects: bench.run, why: "a" })).rejects.toThrow(/that is a run/);
    appendFileSync(join(first, "record.json"), " ");
    await expect(bench.release({ corrects: first, why: "a" })).rejects.toThrow(/was changed/);
    expect(existsSync(join(bench.run, "released-2"))).toBe(false);
  });

  it.each([
    ["two lines", "Ada\nKeeper"],
    ["nothing", "  "],
    ["half a letter", "\ud83d"],
  ])("takes no name of %s", async (_, by) => {
    await expect(bench.release({ by })).rejects.toThrow(/--by as one line/);
  });

  it("waits for a run that may still be written, and for a clock that is not behind it", async () => {
    const cut = bench.makeRun(
      "cut",
      healthyUpTo((event) => event.kind === "step-ended"),
    );
    const now = Date.now() / 1000;
    utimesSync(join(cut, "journal.ndjson"), now, now);
    await expect(bench.release({}, cut)).rejects.toThrow(/never closed/);
    utimesSync(join(cut, "journal.ndjson"), now - 120, now - 120);
    expect((await bench.release({}, cut)).out).toContain("released: VOID");
    const ahead = bench.makeRun("ahead", eventsOf("2999-01-01T00:00:00.000+00:00"));
    await expect(bench.release({}, ahead)).rejects.toThrow(/Set the clock/);
  });

  it("takes no journal that cannot be trusted, and leaves nothing behind", async () => {
    const path = join(bench.run, "journal.ndjson");
    writeFileSync(path, readFileSync(path, "utf8").replace('"n":6', '"n":7'));
    await expect(bench.release()).rejects.toThrow(/line 7 as it was sealed/);
    expect(readdirSync(bench.run)).not.toContain("released-1");
  });

  it("gives way to another release of the same run that is at work", async () => {
    mkdirSync(join(bench.run, "released-1.new"));
    await expect(bench.release()).rejects.toThrow(/another is at it/);
    expect(existsSync(join(bench.run, "released-1"))).toBe(false);
  });
});
