/** `history`, `compare`, `tubes` and `note` over the journals of a small rack. */
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { compareCommand } from "../../../src/commands/compare.ts";
import { historyCommand } from "../../../src/commands/history.ts";
import { type AskedNote, noteCommand } from "../../../src/commands/note.ts";
import { tubesCommand } from "../../../src/commands/tubes.ts";
import { driftingSoak, sheetWith } from "../../journal/drifting-soak.ts";
import { prove } from "./rack.ts";
import { type RunsFolder, runsFolder } from "./runs-folder.ts";

let runs: RunsFolder;
let said: string[] = [];
const io = { out: (line: string) => said.push(line), error: () => undefined };
beforeEach(() => {
  runs = runsFolder();
  said = [];
});
afterEach(() => {
  runs.remove();
});

const plain = { json: false, ascii: true };
const asked = { last: 20, net: null, svg: null };

async function answer(command: Promise<number>): Promise<string> {
  said = [];
  expect(await command).toBe(0);
  return said.join("\n");
}

const history = (unit: string | null, options: object = {}) =>
  answer(historyCommand(unit, { runs: runs.path, ...plain, ...asked, ...options }, io));
const compare = (name: string, options: object = {}) =>
  answer(compareCommand(name, { runs: runs.path, with: null, ...plain, ...options }, io));
const tubes = (serial: string | null, options: object = {}) =>
  answer(tubesCommand(serial, { runs: runs.path, ...plain, ...options }, io));
const note = (subject: string, what: AskedNote) =>
  answer(noteCommand(subject, what, { runs: runs.path, date: "2026-06-01", initials: "AB" }, io));

/** LV-12 goes from 11 V to 12 V; five sisters stand at about 11 V. */
function proveRack(): void {
  [11, 11.2, 12].forEach((lowV, at) => {
    prove(runs, { day: 1 + at, unit: "LV-12", serial: "LV-T031", lowV });
  });
  [11, 11.1, 10.9, 11.05, 10.95].forEach((lowV, at) => {
    const unit = `LV-${20 + at}`;
    prove(runs, { day: 10 + at, unit, serial: `LV-T${40 + at}`, lowV });
  });
}

describe("tubes after a soak", () => {
  it("names the tube of the section that drifted by its serial, and not the one put there since", async () => {
    const events = (serial: string, seed: string, loss = {}) =>
      driftingSoak({ seed, loss }, { sheet: sheetWith(serial) }).map(({ event }) => event);
    runs.put("night", events("LV-T031", "weak", { V1b: 0.05 }));
    const text = await tubes(null);
    expect(text).toMatch(
      /weak: LV-T031 in FL-07 V1, section V1b, Q low drifted \+2\d0 mV in 11\.\d h of soak/,
    );
    expect(text).toContain("put LV-T031 into another socket and soak that unit");
    runs.put("night-2", events("LV-T032", "sound"));
    expect(await tubes("LV-T031")).toContain("section V1b, Q low drifted");
    expect(await tubes("LV-T032")).not.toContain("drifted");
    // The same tube, reseated, in a night that was long enough to see it.
    runs.put("night-3", events("LV-T031", "mended"));
    expect(await tubes("LV-T031")).not.toContain("drifted");
  });
});

describe("history", () => {
  it("lists units with their newest proof and its least room", async () => {
    proveRack();
    const text = await history(null);
    expect(text).toMatch(
      /LV-12 +flasher-latch A +3 +2026-05-03 10:00 +pass +Q low 2\.00 V \(U 0\.40\)/,
    );
    expect(text).toMatch(/LV-24 +flasher-latch A +1/);
  });

  it("lists a unit's runs newest first, and draws its levels oldest left", async () => {
    proveRack();
    const text = await history("LV-12", { last: 2 });
    expect(text).toContain(
      "LV-12, flasher-latch revision A: 3 runs, 2026-05-01 10:00 to 2026-05-03 10:00",
    );
    expect(text.indexOf("2026-05-03-100000")).toBeLessThan(text.indexOf("2026-05-02-100000"));
    expect(text).not.toContain("2026-05-01-100000-flasher-latch");
    expect(text).toContain("and 1 older");
    // 4 U are 1.6 V about 11.5 V: 11, 11.2 and 12 V are the 2nd, 3rd and 7th of eight bars.
    expect(text).toMatch(/Q low +\.-\* +11\.00 V +12\.00 V +14 V +10\.7 to 12\.3 V/);
  });

  it("gives the same as JSON, one object a line", async () => {
    proveRack();
    const lines = (await history("LV-12", { json: true }))
      .split("\n")
      .map((line) => JSON.parse(line));
    expect(lines.filter((line) => line.verdict === "pass")).toHaveLength(3);
    const trend = lines.find((line) => line.channel === "Q" && line.expected === "low");
    expect(trend.points.map((point: { worstV: number }) => point.worstV)).toEqual([11, 11.2, 12]);
  });

  it("draws a unit's levels into a file", async () => {
    proveRack();
    const svg = join(runs.path, "levels.svg");
    await history("LV-12", { svg, net: "Q" });
    expect(readFileSync(svg, "utf8")).toContain(
      "Q low: 11.00 V to 12.00 V over 3 runs, limit 14 V.",
    );
  });

  it("knows no unit of another name, and says which it knows", async () => {
    proveRack();
    await expect(history("LV-99")).rejects.toThrow(/\(LV-12, LV-20.*got "LV-99"/);
    await expect(history("LV-12", { net: "X" })).rejects.toThrow(/--net as one of Q, QN, got "X"/);
    await expect(history(null, { svg: "x.svg" })).rejects.toThrow(/--svg without one/);
  });

  it("is empty before the first run", async () => {
    expect(await history(null)).toBe("No runs yet.");
  });
});

describe("compare", () => {
  it("holds the newest proof against the first pass, the run before, and the sisters", async () => {
    proveRack();
    const text = await compare("LV-12");
    const [first = "", before = "", sisters = ""] = text.split(/\n\n/).slice(1);
    expect(first).toContain("Against its first pass, 2026-05-01 10:00");
    // U of the change is 0.4 V times the root of 2: 1 V is beyond, 0.8 V too.
    expect(first).toMatch(/Q low +11\.00 V +12\.00 V +\+1\.00 V +0\.57 V +changed/);
    expect(first).toContain(
      "V1: the same tube LV-T031; section a QN low +1.00 V, section b Q low +1.00 V.",
    );
    expect(before).toContain("Against its run before, 2026-05-02 10:00");
    expect(before).toMatch(/Q low +11\.20 V +12\.00 V +\+0\.80 V +0\.57 V +changed/);
    expect(sisters).toContain("Among 6 units of this board");
    expect(sisters).toMatch(/Q low +12\.00 V +11\.03 V +4\.\d +far from its sisters/);
  });

  it("takes a run that was marked for the baseline, the later mark of two", async () => {
    proveRack();
    await note("2026-05-01-100000-flasher-latch", { baseline: true });
    await note("2026-05-02-100000-flasher-latch", { baseline: true });
    const text = await compare("LV-12");
    expect(text).toContain("Against its marked baseline, 2026-05-02 10:00");
    expect(text).not.toContain("run before");
  });

  it("says where another tube stands in a socket, and what changed with it", async () => {
    prove(runs, { day: 1, unit: "LV-12", serial: "LV-T031", lowV: 13 });
    prove(runs, { day: 2, unit: "LV-12", serial: "LV-T032", lowV: 11 });
    const text = await compare("LV-12");
    expect(text).toContain(
      "V1: another tube, LV-T031 then, LV-T032 now; section a QN low -2.00 V, section b Q low -2.00 V.",
    );
    expect(text).toContain("Among its sisters: none has a proof");
  });

  it("does not judge a change whose uncertainty nobody knows", async () => {
    prove(runs, { day: 1, unit: "LV-12", serial: "LV-T031", lowV: 9, evaluated: false });
    prove(runs, { day: 2, unit: "LV-12", serial: "LV-T031", lowV: 13 });
    const text = await compare("LV-12");
    expect(text).toContain("uncertainty not evaluated");
    expect(text).toContain("Whether anything changed cannot be told");
    expect(text).toContain("Note: another decision rule between the two.");
  });

  it("holds a run against any other that is named", async () => {
    proveRack();
    const text = await compare("2026-05-02-100000-flasher-latch", {
      with: "2026-05-10-100000-flasher-latch",
    });
    expect(text).toContain("Against its run asked for, 2026-05-10 10:00");
    await expect(compare("LV-12", { with: "nothing" })).rejects.toThrow(/--with as a run/);
    await expect(compare("nothing")).rejects.toThrow(/there is neither/);
  });
});

describe("tubes", () => {
  it("adds up a tube's hours by socket, and tells where it is now", async () => {
    proveRack();
    prove(runs, { day: 20, unit: "LV-12", serial: "LV-T077", lowV: 11 });
    const text = await tubes(null);
    expect(text).toMatch(/LV-T031 +ECC82 +out of LV-12 V1, LV-T077 is there +1 /);
    expect(text).toMatch(/LV-T077 +ECC82 +LV-12 V1 +1 /);
  });

  it("blames a tube that is weak in two sockets", async () => {
    proveRack();
    prove(runs, { day: 20, unit: "LV-24", serial: "LV-T031", lowV: 12.9 });
    const text = await tubes(null);
    expect(text).toContain("LV-T031 is weak in 2 sockets: it is the tube.");
    expect(text).toMatch(
      /weak: LV-T031 in LV-12 V1, section b, Q low 12\.00 V, robust z 4\.\d among 6 units/,
    );
    expect(text).toMatch(/weak: LV-T031 in LV-24 V1, section b, Q low 12\.90 V/);
  });

  it("blames a socket that weakens two tubes", async () => {
    proveRack();
    prove(runs, { day: 20, unit: "LV-12", serial: "LV-T077", lowV: 12.5 });
    const text = await tubes("LV-T077");
    expect(text).toContain("LV-12 V1 weakens 2 tubes: it is the socket, or what is around it.");
    expect(text).toContain("Next: look at what is around V1");
  });

  it("puts a person's notes beside the readings", async () => {
    proveRack();
    await note("LV-T031", { removed: "low creeps up", unit: "LV-12", position: "V1" });
    await note("LV-T031", { retest: "9.6 mA", found: "good" });
    const text = await tubes("LV-T031");
    expect(text).toContain("LV-T031, ECC82: out of LV-12 V1: low creeps up");
    expect(text).toContain("2026-06-01 removed (LV-12 V1): low creeps up, AB");
    expect(text).toContain("2026-06-01 retest: 9.6 mA, found good, AB");
    expect(text).toMatch(/b Q low +\.-\* +11\.00 V +12\.00 V/);
  });

  it("knows no tube of another name", async () => {
    proveRack();
    await expect(tubes("LV-T999")).rejects.toThrow(/got "LV-T999"/);
  });
});

describe("note", () => {
  it("writes nothing that could not be read again", async () => {
    proveRack();
    await expect(note("LV-T031", { removed: "x".repeat(500) })).rejects.toThrow(/Not noted/);
    await expect(note("LV-T031", {})).rejects.toThrow(/one of --removed, --retest and --note/);
    await expect(note("LV-T031", { retest: "x", found: "so-so" })).rejects.toThrow(/good or weak/);
    await expect(note("LV-T031", { baseline: true })).rejects.toThrow(/a proof to be a baseline/);
    expect(existsSync(join(runs.path, "notes.yaml"))).toBe(false);
  });
});
