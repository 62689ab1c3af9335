import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";

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

describe("hold-up of the wiring page", () => {
  it("keeps bias inside -22.1 V until plate is below 10 V", () => {
    const fallMs = 2.2e-6 * 10_000 * Math.log(48 / 10) * 1000;
    const drainA = 24 / 22_000 + (24 - 18 - 1.2) / 4700 + (24 + 0.8) / 100_000 + 1e-4;
    const voltsPerMs = drainA / 100e-6 / 1000;
    expect(fallMs).toBeCloseTo(34.5, 1);
    expect(voltsPerMs * fallMs).toBeLessThan(0.9);
    expect((24 - 22.1) / voltsPerMs).toBeGreaterThan(70);
    expect((24 - 22.1) / voltsPerMs).toBeGreaterThan(2 * fallMs);
  });
});
