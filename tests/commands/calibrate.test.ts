/** `calibrate` on the emulated bench, in this process: by its simulated supply, by tables, and when it is refused. */
import {
  cpSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import {
  goOnLine,
  type RawCalibrateOptions,
  readCalibrateOptions,
} from "../../src/commands/calibrate/calibrate-options.ts";
import { calibrateCommand } from "../../src/commands/calibrate.ts";
import { loadProof } from "../../src/commands/proof-folder.ts";
import { readProveOptions } from "../../src/commands/prove/prove-options.ts";
import type { Talker } from "../../src/commands/write/talk.ts";
import { loadCalibration } from "../../src/formats/calibration.schema.ts";

const sequences = resolve(import.meta.dirname, "../../sequences");
const NOW = "2026-05-01T10:00:00.000+00:00";
const METER = {
  meter: "hand meter",
  meterChecked: "2026-02-01",
  meterPercent: "0.5",
  meterVolts: "0.01",
};
let folder = "";

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-calibrate-"));
  cpSync(join(sequences, "flasher-latch"), folder, { recursive: true });
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

interface Asked extends RawCalibrateOptions {
  readonly faults?: readonly string[];
}

/** Nobody types anything. */
const silent: Talker = {
  say: () => undefined,
  hear: async () => ({ kind: "over" }),
  // A talk that never was need not be closed.
  close: () => undefined,
} as unknown as Talker;

async function calibrate({ faults = [], ...raw }: Asked = {}, now = NOW) {
  const prove = readProveOptions(
    folder,
    { runs: join(folder, "runs"), fault: faults, yes: true, color: true, word: "tube" },
    { environment: {}, stdoutIsTerminal: false, defaultFolder: folder, mode: "proof" },
  );
  const said: string[] = [];
  const complained: string[] = [];
  const io = {
    out: (line: string) => said.push(line),
    error: (line: string) => complained.push(line),
  };
  const status = await calibrateCommand(readCalibrateOptions(raw, prove, now), {
    talker: silent,
    io,
  });
  return { status, said: said.join("\n"), complained: complained.join("\n") };
}

function kept(): string[] {
  const path = join(folder, "calibrations");
  return existsSync(path) ? readdirSync(path).sort() : [];
}

function newest() {
  const name =
    kept()
      .filter((one) => one.endsWith(".yaml"))
      .at(-1) ?? "";
  const loaded = loadCalibration(readFileSync(join(folder, "calibrations", name), "utf8"), name);
  if (!loaded.ok) throw new Error("the file that was written cannot be read");
  return loaded.document.value;
}

describe("a calibration on the emulated bench", () => {
  it("finds dividers and a reference that are off, keeps found and left, and counts from then on", async () => {
    const faults = ["converter.reference.volts=5.45", "divider.Q.topFactor=1.05"];
    const { status, said } = await calibrate({ faults });
    expect(status).toBe(0);
    const { channels, reference, expires, meter } = newest();
    // The top resistor 5 % high takes 5 % x 10 / 11 off a divider of 1 M and 100 k.
    expect(channels["Q"]?.gain).toBeCloseTo(1 + (0.05 * 10) / 11, 2);
    expect(channels["QN"]?.gain).toBeCloseTo(1, 2);
    expect(reference?.volts).toBeCloseTo(5.45, 1);
    expect(expires).toBe("2027-05-01");
    expect(meter.from).toBe("simulated");
    const worst = channels["Q"]?.points.at(-1);
    expect(Math.abs(worst?.asFoundV ?? 0)).toBeGreaterThan(1.5);
    expect(Math.abs(worst?.asLeftV ?? 9)).toBeLessThan(0.05);
    expect(said.match(/^Note: Q: .*its parts are worse than the rig file says\.$/gm)).toHaveLength(
      1,
    );
    expect(said).not.toContain("Note: QN");
    const proof = await loadProof(folder);
    expect(
      proof.ok && proof.proof.plan.channels.find(({ name }) => name === "Q")?.calibration,
    ).toBeTruthy();
  });

  it("is told what a channel has drifted by since the one before, which stays as it is", async () => {
    await calibrate({ channels: "Q,QN" });
    const later = "2027-05-02T09:00:00.000+00:00";
    const faults = ["divider.Q.topFactor=1.02"];
    const { said } = await calibrate({ channels: "Q,QN", faults }, later);
    expect(kept()).toEqual(["2026-05-01T100000Z.yaml", "2027-05-02T090000Z.yaml"]);
    expect(newest().channels["Q"]?.found).toBe(NOW);
    expect(said).toMatch(/^Note: Q: .* since the calibration of 2026-05-01: what was judged/m);
    expect(said).not.toContain("Note: QN");
  });

  it("by a table joins the leads it names, and keeps which meter said so", async () => {
    const points = join(folder, "points.csv");
    writeFileSync(points, "# by hand\nchannels,volts\nQ QN,6.00\nQ QN,45.00\n");
    const { status, said } = await calibrate({ channels: "Q,QN", points, ...METER, by: "AB" });
    expect(status).toBe(0);
    expect(said).toContain("Join Q, QN to the supply, 45 V by the meter.");
    expect(newest()).toMatchObject({ by: "AB", meter: { name: "hand meter", percent: 0.5 } });
    expect(Object.keys(newest().channels)).toEqual(["Q", "QN"]);
  });

  it("by codes that were written down needs no bench", async () => {
    const codes = join(folder, "codes.csv");
    const head = "channel,volts,code,count,min,max,reference";
    writeFileSync(codes, `${head}\nQ,6.00,111.2,64,111,112,512\nQ,45.00,837.4,64,836,839,512\n`);
    expect((await calibrate({ channels: "Q", codes, ...METER })).status).toBe(0);
    // 837.4 less 111.2 of 1024 at 55 V x 5 x 512.5-th parts of the known source: 39 V in all.
    const { gain, offsetV } = newest().channels["Q"] ?? { gain: 0, offsetV: 0 };
    const step = (11 * 2.5 * 1024) / 512.5 / 1024;
    expect(gain * step * (837.4 - 111.2)).toBeCloseTo(39, 1);
    expect(gain * step * 111.2 + offsetV).toBeCloseTo(6, 2);
  });
});

describe("a calibration that cannot be", () => {
  it("of two equal points writes nothing and says how far apart they must be", async () => {
    const codes = join(folder, "codes.csv");
    const head = "channel,volts,code,count,min,max,reference";
    writeFileSync(codes, `${head}\nQ,6,111.2,64,111,112,512\nQ,6,111.2,64,111,112,512\n`);
    const { status, complained } = await calibrate({ channels: "Q", codes, ...METER });
    expect(status).toBe(1);
    expect(complained).toMatch(/all points are at 6 V. Take one at other volts, 11 V away/);
    expect(kept()).toEqual([]);
  });

  it("of a point outside the range stops, and keeps what was measured before for going on", async () => {
    const points = join(folder, "points.csv");
    writeFileSync(points, "channels,volts\nQ,6\nQ,60\n");
    await expect(calibrate({ channels: "Q", points, ...METER })).rejects.toThrow(
      /the converter is at its end at 60 V/,
    );
    const [draft = ""] = kept();
    expect(draft).toMatch(/\.draft$/);
    writeFileSync(points, "channels,volts\nQ,45\n");
    const resume = join(folder, "calibrations", draft);
    expect((await calibrate({ channels: "Q", points, resume })).status).toBe(0);
    expect(newest().channels["Q"]?.points).toHaveLength(2);
    expect(kept()).toHaveLength(1);
  });

  it("without a reading of the known source is none: its gains would be of another reference", async () => {
    const faults = ["lead.reference.open=1"];
    await expect(calibrate({ channels: "Q", faults })).rejects.toThrow(
      "The known source gives no reading: look at the rig's reference channel.",
    );
    expect(kept()).toEqual([]);
  });

  it("does not go on with points of a rig file that was changed since", async () => {
    const points = join(folder, "points.csv");
    writeFileSync(points, "channels,volts\nQ,6\nQ,60\n");
    await expect(calibrate({ channels: "Q", points, ...METER })).rejects.toThrow();
    const rig = join(folder, "rig.yaml");
    writeFileSync(rig, readFileSync(rig, "utf8").replace("samples: 16", "samples: 15"));
    const resume = join(folder, "calibrations", kept()[0] ?? "");
    await expect(calibrate({ channels: "Q", resume })).rejects.toThrow(/changed since .*was begun/);
  });

  it.each([
    ["points too near", "Q,9,165,16,164,166,511.5", /too near each other/],
    ["a clipped point", "Q,55,1023,16,1023,1023,511.5", /at its end at 55 V/],
    ["codes that cannot belong together", "Q,46,100,16,300,310,511.5", /cannot belong together/],
  ])("of %s writes nothing", async (_what, row, said) => {
    const codes = join(folder, "codes.csv");
    const head = "channel,volts,code,count,min,max,reference";
    writeFileSync(codes, `${head}\nQ,5.9,100,16,99,101,511.5\n${row}\n`);
    const { status, complained } = await calibrate({ channels: "Q", codes, ...METER });
    expect(status).toBe(1);
    expect(complained).toMatch(said);
    expect(kept()).toEqual([]);
  });

  it.each([
    ["a field too few", "Q,5,93,16,92,94", /codes\.csv:2: expected 7 fields/],
    ["volts that are none", "Q,OVLD,93,16,92,94,511", /codes\.csv:2: expected volts/],
    ["a code that is none", "Q,5,,16,92,94,511", /codes\.csv:2: expected a number/],
    ["a count of none", "Q,5,93,0,92,94,511", /codes\.csv:2: expected a count/],
    ["a known source of 0", "Q,5,93,16,92,94,0", /codes\.csv:2: expected the code of the known/],
  ])("by a table with %s says its line", async (_what, row, said) => {
    const codes = join(folder, "codes.csv");
    writeFileSync(codes, `channel,volts,code,count,min,max,reference\n${row}\n`);
    await expect(calibrate({ channels: "Q", codes, ...METER })).rejects.toThrow(said);
  });

  it("by a meter nobody has named says which options are missing", async () => {
    const codes = join(folder, "codes.csv");
    writeFileSync(codes, "channel,volts,code,count,min,max,reference\n");
    await expect(calibrate({ codes, meter: "x" })).rejects.toThrow(
      "--meter-checked, --meter-percent, --meter-volts missing",
    );
  });

  it("with another lead on the supply is refused by what the codes say", async () => {
    const points = join(folder, "points.csv");
    writeFileSync(points, "channels,volts\nQ,6\nQ,45\n");
    const faults = ["divider.Q.topFactor=0.5"];
    await expect(calibrate({ channels: "Q", points, ...METER, faults })).rejects.toThrow(
      /another lead is on the supply, the meter is on another range/,
    );
  });

  it("goes into no folder that ships, and expires on no day that is past", async () => {
    const own = folder;
    folder = join(sequences, "flasher-latch");
    await expect(calibrate()).rejects.toThrow(/which is an example/);
    folder = own;
    await expect(calibrate({ expires: "2026-04-30" })).rejects.toThrow(/after today/);
    await expect(calibrate({ meterChecked: "2026-06-01" })).rejects.toThrow(
      /own check on a day up to/,
    );
  });

  it("says file and line of a table that is none", async () => {
    const points = join(folder, "points.csv");
    writeFileSync(points, "channels,volts\nQ,6\nK,45\n");
    await expect(calibrate({ points, ...METER })).rejects.toThrow(
      /points\.csv:3: expected a channel/,
    );
    writeFileSync(points, "volts;channel\n");
    await expect(calibrate({ points, ...METER })).rejects.toThrow(
      /points\.csv:1: expected the first line/,
    );
  });
});

describe("a calibration that lies beside a rig", () => {
  const place = () => join(folder, "calibrations/2026-05-01T100000Z.yaml");

  it("is a problem at its place when it is broken, and when its name says no time", async () => {
    await calibrate({ channels: "Q" });
    const text = readFileSync(place(), "utf8");
    writeFileSync(place(), text.replace(/gain: .*/, "gain: much"));
    const broken = await loadProof(folder);
    expect(broken.ok ? [] : broken.problems).toEqual([
      expect.objectContaining({ file: place(), line: expect.any(Number), offending: "much" }),
    ]);
    writeFileSync(place(), text);
    writeFileSync(join(folder, "calibrations/copy.yaml"), text);
    const odd = await loadProof(folder);
    expect(odd.ok ? [] : odd.problems.map(({ reason }) => reason)).toEqual([
      expect.stringContaining("this name does not say when it was made"),
    ]);
  });

  it("is passed over for the newest of this rig when it is another's", async () => {
    await calibrate({ channels: "Q" });
    const other = readFileSync(place(), "utf8").replace("rig: cabin-bench", "rig: attic-bench");
    writeFileSync(join(folder, "calibrations/2026-07-01T000000Z.yaml"), other);
    const loaded = await loadProof(folder);
    expect(loaded.ok ? loaded.proof.calibration?.rig : null).toBe("cabin-bench");
  });

  it("in a place that is no folder is a problem, not a crash", async () => {
    writeFileSync(join(folder, "calibrations"), "");
    const loaded = await loadProof(folder);
    expect(loaded.ok ? [] : loaded.problems).toEqual([
      expect.objectContaining({
        code: "FILE_UNREADABLE",
        reason: expect.stringContaining("expected a folder of calibrations"),
      }),
    ]);
  });
});

describe("goOnLine()", () => {
  it("is the same command with the draft, quoted for a shell", () => {
    const prove = readProveOptions(
      "my rig's",
      { runs: "runs", port: "/dev/ttyUSB0", color: true },
      { environment: {}, stdoutIsTerminal: false, defaultFolder: "x", mode: "proof" },
    );
    const raw = { channels: "Q, QN", meterPort: "/dev/ttyUSB1", by: "A B", into: "out" };
    expect(goOnLine(readCalibrateOptions(raw, prove, NOW), "out/c.draft")).toBe(
      "holdfast calibrate 'my rig'\\''s' --port /dev/ttyUSB0 --channels Q,QN --meter-port /dev/ttyUSB1 " +
        "--meter-baud 9600 --by 'A B' --expires 2027-05-01 --into out --resume out/c.draft",
    );
  });
});
