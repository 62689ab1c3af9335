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
    expect(said).toContain("What was judged by it since is in doubt");
    const proof = await loadProof(folder);
    expect(
      proof.ok && proof.proof.plan.channels.find(({ name }) => name === "Q")?.calibration,
    ).toBeTruthy();
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
