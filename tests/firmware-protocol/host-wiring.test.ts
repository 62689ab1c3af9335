import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { parse } from "yaml";

const page = readFileSync(
  new URL("../../firmware-protocol/wiring/README.md", import.meta.url),
  "utf8",
);
const referenceV = 5;
const tolerance = 0.01;

interface Divider {
  readonly topOhm: number;
  readonly bottomOhm: number;
  readonly pullUpOhm: number;
}

/** Pin volts by Millman's theorem. */
function pinV(nodeV: number, divider: Divider, avccV: number): number {
  const { topOhm, bottomOhm, pullUpOhm } = divider;
  const conductance = 1 / topOhm + 1 / bottomOhm + 1 / pullUpOhm;
  return (nodeV / topOhm + avccV / pullUpOhm) / conductance;
}

/** Node volts that nominal parts would have given this fraction of the reference. */
function nodeV(fraction: number, divider: Divider): number {
  const atZero = pinV(0, divider, referenceV);
  const perVolt = pinV(1, divider, referenceV) - atZero;
  return (fraction * referenceV - atZero) / perVolt;
}

function errorsV(volts: number, divider: Divider): { worst: number; rms: number } {
  const names = ["topOhm", "bottomOhm", "pullUpOhm"] as const;
  const misread = (factors: readonly number[]): number => {
    const real = { ...divider };
    for (const [index, name] of names.entries()) {
      real[name] = divider[name] * (factors[index] ?? 1);
    }
    return nodeV(pinV(volts, real, referenceV) / referenceV, divider) - volts;
  };
  const signs = [-1, 1];
  const corners = signs.flatMap((a) => signs.flatMap((b) => signs.map((c) => [a, b, c])));
  const worst = Math.max(
    ...corners.map((corner) => Math.abs(misread(corner.map((sign) => 1 + sign * tolerance)))),
  );
  const alone = names.map((_, index) =>
    misread([0, 1, 2].map((i) => (i === index ? 1 + tolerance : 1))),
  );
  return { worst, rms: Math.hypot(...alone) };
}

const rows = page
  .split("\n")
  .filter((line) => /^\| (heater \d|bias|plate|net)/.test(line))
  .map((line) =>
    line
      .split("|")
      .map((cell) => cell.trim())
      .slice(1, -1),
  );

describe("divider table of the wiring page", () => {
  it("has a row for each kind of channel", () => {
    expect(rows.map((row) => row[0])).toEqual([
      "heater 12.6 V",
      "heater 31.5 V",
      "bias",
      "plate",
      "net or line",
    ]);
  });

  it.each(rows)("states what its parts give: %s", (...cells) => {
    const [name = "", at, top, bottom, pullUp, source, range = "", step, ...rest] = cells;
    const [worst, rms, reference, converter, leakage, settles] = rest.map(Number);
    const volts = Number(at);
    const divider = {
      topOhm: Number(top),
      bottomOhm: Number(bottom),
      pullUpOhm: pullUp === "-" ? Number.POSITIVE_INFINITY : Number(pullUp),
    };
    const sourceOhm = 1 / (1 / divider.topOhm + 1 / divider.bottomOhm + 1 / divider.pullUpOhm);
    const stepV = nodeV(1 / 1024, divider) - nodeV(0, divider);
    const errors = errorsV(volts, divider);
    const [lowest, highest] = range.split("..").map(Number);
    expect(Number(source)).toBeCloseTo(sourceOhm / 1000, 2);
    expect(lowest).toBeCloseTo(nodeV(0, divider), 1);
    expect(highest).toBeCloseTo(nodeV(1, divider), 1);
    expect(Number(step)).toBeCloseTo(stepV * 1000, 1);
    expect(worst).toBeCloseTo(errors.worst, 2);
    expect(rms).toBeCloseTo(errors.rms, 2);
    const high = referenceV * 1.05;
    const misread = nodeV(pinV(volts, divider, high) / high, divider) - volts;
    expect(reference).toBeCloseTo(Math.abs(misread), 2);
    expect(converter).toBeCloseTo(3.5 * stepV, 2);
    expect(leakage).toBeCloseTo((1e-6 * sourceOhm * stepV * 1024) / referenceV, 2);
    // Half a step of ten bits: 11 ln 2 time constants.
    const farad = name.startsWith("net") ? 33e-9 : 10e-9;
    expect(settles).toBeCloseTo(11 * Math.LN2 * sourceOhm * farad * 1000, 2);
  });
});

interface Part {
  readonly kind: string;
  readonly from?: string;
  readonly ohm?: number;
  readonly farad?: number;
}

/** The largest capacitor and the bleeder between a rail and common in a shipped circuit. */
function reservoirOf(parts: readonly Part[], rail: string): { farad: number; ohm: number } {
  const own = parts.filter((part) => part.from === rail && "to" in part && part.to === "common");
  return {
    farad: Math.max(...own.map((part) => part.farad ?? 0)),
    ohm: own.find((part) => part.kind === "resistor")?.ohm ?? Number.POSITIVE_INFINITY,
  };
}

function fallTogether(parts: readonly Part[]): { plateMs: number; biasV: number } {
  const stages = parts.filter((part) => part.kind === "triode").length;
  const plate = reservoirOf(parts, "plate");
  const bias = reservoirOf(parts, "bias");
  const stepMs = 0.1;
  let plateV = 48;
  let biasV = 24;
  let plateMs = 0;
  while (plateV > 10) {
    // One stage of two conducts, 0.77 mA at 48 V (notes of the board); the divider is 108.2 kOhm.
    const plateA = plateV / plate.ohm + ((stages / 2) * 0.77e-3 + 48 / 108_200) * (plateV / 48);
    const interlockA = Math.max(0, (biasV - 18 - 1.2) / 4700);
    const biasA = biasV / bias.ohm + biasV / 100_000 + (stages * biasV) / 430_000 + interlockA;
    plateV -= (plateA / plate.farad) * (stepMs / 1000);
    biasV -= (biasA / bias.farad) * (stepMs / 1000);
    plateMs += stepMs;
  }
  return { plateMs, biasV };
}

const holdUps = page
  .split("\n")
  .filter((line) =>
    /^ +\| (flasher-latch|fog-divider|sector-latch|watch-adder|blast-ring) /.test(line),
  )
  .map((line) =>
    line
      .split("|")
      .map((cell) => cell.trim())
      .slice(1, -1),
  );

describe("hold-up of the wiring page", () => {
  it("names every shipped board", () => {
    const shipped = readdirSync(new URL("../../sequences/", import.meta.url)).sort();
    expect(holdUps.map(([board]) => board).sort()).toEqual(shipped);
  });

  it.each(holdUps)("states the parts and the fall of %s", (board = "", ...cells) => {
    const circuit = new URL(`../../sequences/${board}/circuit.yaml`, import.meta.url);
    const { parts } = parse(readFileSync(circuit, "utf8")) as { parts: Part[] };
    const microfarad = (rail: string) => Math.round(reservoirOf(parts, rail).farad * 1e6);
    const kiloohm = (rail: string) => reservoirOf(parts, rail).ohm / 1000;
    const { plateMs, biasV } = fallTogether(parts);
    expect(cells).toEqual([
      `${microfarad("heater")} uF`,
      `${microfarad("bias")} uF`,
      `${kiloohm("bias")} k`,
      `${microfarad("plate")} uF`,
      `${kiloohm("plate")} k`,
      `${Math.round(plateMs)} ms`,
      `-${biasV.toFixed(1)} V`,
    ]);
    expect(biasV).toBeGreaterThan(22.1);
  });
});
