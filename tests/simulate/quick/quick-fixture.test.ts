/** The fixture for nights against the one that solves everything, against ngspice, and by itself. */
import { describe, expect, it } from "vitest";
import type { Scenario } from "../../../src/formats/scenario.schema.ts";
import { BenchWiring } from "../../../src/simulate/fixture/bench-wiring.ts";
import { createFixture } from "../../../src/simulate/fixture/create-fixture.ts";
import { NightValues } from "../../../src/simulate/night/night-values.ts";
import {
  createQuickFixture,
  type QuickFixture,
} from "../../../src/simulate/quick/quick-fixture.ts";
import { compareWithSpice } from "../../references/spice/compare.ts";
import { shippedBoard, stepThrough } from "../fixture/step-through.ts";
import { scenarioWith } from "./scenarios.ts";

const latch = shippedBoard("flasher-latch");
/** Outputs of the latch's rig. */
const RAILS = 0b111;
const SET = 0b1000;
const RESET = 0b10000;
const HOUR_MS = 3_600_000;
/** Cathodes are hot after three minutes. */
const HOT_MS = 180_000;
const Q_PIN = { pin: 6, address: 1 } as const;
const QN_PIN = { pin: 6, address: 0 } as const;
/** Of the rig's divider: 1 M over 100 k. */
const NODE_PER_PIN = 11;

function hotLatch(scenario?: Scenario, seed = 1): QuickFixture {
  const { circuit, rig } = latch;
  const fixture = createQuickFixture({
    circuit,
    rig,
    seed,
    ...(scenario === undefined ? {} : { scenario }),
  });
  fixture.setOutputs(RAILS, 0);
  fixture.setOutputs(RAILS | RESET, HOT_MS - 300);
  fixture.setOutputs(RAILS, HOT_MS - 150);
  return fixture;
}

function pulse(fixture: QuickFixture, output: number, atMs: number): void {
  fixture.setOutputs(RAILS | output, atMs);
  fixture.setOutputs(RAILS, atMs + 60);
}

/** Volts of the board an hour into a scenario, latch reset: Q low, QN high. */
function afterAnHour(lines: string): Readonly<Record<string, number>> {
  return hotLatch(scenarioWith(lines)).nodeVolts(HOUR_MS);
}

function voltsOf(volts: Readonly<Record<string, number>>, net: string): number {
  return volts[net] ?? Number.NaN;
}

describe("a fixture that keeps settled states", () => {
  it("agrees with ngspice on every net at every settled state within 2 % or 0.2 V", () => {
    const comparisons = compareWithSpice(createQuickFixture);
    expect(comparisons.length).toBeGreaterThan(300);
    expect(comparisons.filter(({ ofTolerance }) => !(ofTolerance <= 1))).toEqual([]);
  });

  it("agrees with the solved transient on every net at every settled state within 3 mV", () => {
    const solved = compareWithSpice();
    const kept = compareWithSpice(createQuickFixture);
    const apartV = kept.map(({ oursV }, index) =>
      Math.abs(oursV - (solved[index]?.oursV ?? Number.NaN)),
    );
    expect(apartV.length).toBeGreaterThan(300);
    expect(Math.max(...apartV)).toBeLessThan(0.003);
  }, 180_000);

  it.each(["flasher-latch", "fog-divider", "sector-latch", "watch-adder", "blast-ring"])(
    "takes %s through its sequence, warm when the solved one is within 2 %",
    (name) => {
      const shipped = shippedBoard(name);
      const kept = stepThrough(shipped, { holdMs: 300, build: createQuickFixture });
      expect(kept.miss).toBeNull();
      if (name !== "flasher-latch") return;
      const solved = stepThrough(shipped, { holdMs: 300 });
      expect(Math.abs((kept.warmMs ?? 0) / (solved.warmMs ?? 1) - 1)).toBeLessThan(0.02);
    },
  );

  it("gives the same volts for the same scenario, and others for another seed", () => {
    const lines = "supplies: { plate: { walkPercent: 1 } }\nnoiseFactor: 2";
    const readAll = (seed: number): number[] => {
      const fixture = hotLatch(scenarioWith(lines, seed));
      return Array.from({ length: 50 }, (_, index) =>
        fixture.pinVolts(Q_PIN.pin, Q_PIN.address, HOT_MS + 60_000 * index),
      );
    };
    expect(readAll(4)).toEqual(readAll(4));
    expect(readAll(4)).not.toEqual(readAll(5));
  });
});

describe("physics of a night", () => {
  const healthy = afterAnHour("");

  it("raises the low level of a section that loses emission, and of no other", () => {
    const worn = afterAnHour("sections: [{ section: V1b, lossPercentPerHour: 20 }]");
    expect(voltsOf(worn, "Q")).toBeGreaterThan(voltsOf(healthy, "Q") + 0.5);
    expect(voltsOf(worn, "QN")).toBeCloseTo(voltsOf(healthy, "QN"), 1);
  });

  it("raises the low level when the heater's supply is low", () => {
    const cool = afterAnHour(
      "sags: [{ rail: heater, lossPercentPerHour: 100, lossPercentMax: 12 }]",
    );
    expect(voltsOf(cool, "heater")).toBeCloseTo(0.88 * voltsOf(healthy, "heater"), 1);
    expect(voltsOf(cool, "Q")).toBeGreaterThan(voltsOf(healthy, "Q") + 0.01);
  });

  it("moves both levels with the plate supply", () => {
    const low = afterAnHour("sags: [{ rail: plate, lossPercentPerHour: 2 }]");
    expect(voltsOf(low, "Q")).toBeLessThan(voltsOf(healthy, "Q") - 0.05);
    expect(voltsOf(low, "QN")).toBeLessThan(voltsOf(healthy, "QN") - 0.5);
  });

  it("reads every channel lower when the reference rises", () => {
    const mean = (lines: string): number => {
      const fixture = hotLatch(scenarioWith(lines));
      let sum = 0;
      for (let n = 0; n < 64; n += 1) {
        sum += fixture.pinVolts(QN_PIN.pin, QN_PIN.address, HOUR_MS + n);
      }
      return sum / 64;
    };
    const ratio = mean("reference: { driftPercentPerHour: 1 }") / mean("");
    // The converter compares with a reference 1 % up: codes fall as 1 / 1.01.
    expect(ratio).toBeCloseTo(1 / 1.01, 3);
  });

  it("lowers the plate that a dry joint feeds, from its moment on", () => {
    const fixture = hotLatch(scenarioWith("joints: [{ part: R1, ohm: 47000, fromHours: 0.5 }]"));
    const before = fixture.nodeVolts(0.4999 * HOUR_MS);
    const after = fixture.nodeVolts(0.5001 * HOUR_MS);
    expect(voltsOf(before, "QN")).toBeCloseTo(voltsOf(healthy, "QN"), 2);
    // High behind 47 k and 94 k, loaded by the same grid divider.
    expect(voltsOf(after, "QN")).toBeLessThan(voltsOf(before, "QN") - 3);
  });
});

describe("a change of a part", () => {
  it("acts at its moment, whether it was given beforehand or later", () => {
    const { circuit, rig } = latch;
    const lost = { part: "supply.bias", parameter: "volts", value: 0, atMs: HOT_MS + 5000 };
    const before = createQuickFixture({ circuit, rig, seed: 1, changes: [lost] });
    before.setOutputs(RAILS, 0);
    const later = hotLatch();
    later.change(lost, HOT_MS);
    for (const fixture of [before, later]) {
      expect(voltsOf(fixture.nodeVolts(HOT_MS + 4900), "bias")).toBeLessThan(-23);
      // The reservoir empties into the supply behind its 22 ohms, and through the bleeder.
      expect(voltsOf(fixture.nodeVolts(HOT_MS + 5500), "bias")).toBeGreaterThan(-1);
    }
  });

  it("of a joint that comes and goes leaves the board as it was while it is good", () => {
    const fixture = hotLatch(
      scenarioWith(
        "joints: [{ part: R1, ohm: 47000, fromHours: 0.1, comesAndGoes: { goodS: 60, badS: 20 } }]",
      ),
    );
    const high = voltsOf(fixture.nodeVolts(HOT_MS + 1000), "QN");
    const volts = Array.from({ length: 1200 }, (_, second) =>
      voltsOf(fixture.nodeVolts(0.1 * HOUR_MS + 1000 * second + 500), "QN"),
    );
    const good = volts.filter((one) => Math.abs(one - high) < 0.01).length;
    const bad = volts.filter((one) => one < high - 3).length;
    // Three quarters of the time, give or take what chance makes of fifteen turns.
    expect(good + bad).toBeGreaterThan(1190);
    expect(good / volts.length).toBeGreaterThan(0.55);
    expect(good / volts.length).toBeLessThan(0.9);
  });
});

describe("slow time", () => {
  it("moves in no steps: neighbours a second apart differ by less than a tenth of the noise", () => {
    const fixture = hotLatch(
      scenarioWith(
        "supplies: { plate: { swingPercent: 2, swingHours: 1 } }\n" +
          "reference: { walkPercent: 0.5 }\nnoiseFactor: 0",
      ),
    );
    const volts = Array.from({ length: 1200 }, (_, second) =>
      fixture.pinVolts(QN_PIN.pin, QN_PIN.address, 200_000 + 1000 * second),
    );
    const steps = volts.slice(1).map((one, index) => Math.abs(one - (volts[index] ?? one)));
    const travelled = Math.max(...volts) - Math.min(...volts);
    // 0.3 of a converter step is what noise is by itself.
    expect(travelled).toBeGreaterThan(0.05);
    expect(Math.max(...steps)).toBeLessThan((0.1 * 0.3 * 5) / 1024);
  });

  it("stands between two solutions within 3 mV of what is solved for the moment", () => {
    const { circuit, rig } = latch;
    const scenario = scenarioWith(
      "supplies: { plate: { swingPercent: 2, swingHours: 1 }, heater: { walkPercent: 2 } }",
    );
    const fixture = hotLatch(scenario);
    const values = new NightValues(scenario, rig, new BenchWiring({ circuit, rig, seed: 1 }));
    for (let atMs = 250_000; atMs < 1_500_000; atMs += 307_000) {
      // The same moment as a night of its own in which nothing moves.
      const changes = values.changesAt(atMs / 1000);
      const still = createFixture({ circuit, rig, seed: 1, changes });
      still.setOutputs(RAILS | RESET, 0);
      still.setOutputs(RAILS, HOT_MS);
      const expected = still.nodeVolts(HOT_MS + 500);
      const volts = fixture.nodeVolts(atMs);
      for (const net of ["Q", "QN", "plate", "bias"]) {
        expect(Math.abs(voltsOf(volts, net) - voltsOf(expected, net))).toBeLessThan(0.003);
      }
    }
  });

  it("keeps a latch as it was set, over hours and refreshes, until it is set otherwise", () => {
    const fixture = hotLatch(
      scenarioWith("supplies: { plate: { swingPercent: 2, swingHours: 0.5 } }"),
    );
    let atMs = HOT_MS;
    for (const [output, isSet] of [
      [SET, true],
      [RESET, false],
      [SET, true],
    ] as const) {
      pulse(fixture, output, atMs);
      for (let minute = 1; minute <= 90; minute += 1) {
        const volts = fixture.nodeVolts(atMs + 60_000 * minute);
        expect(voltsOf(volts, "Q") > 30).toBe(isSet);
        expect(voltsOf(volts, "QN") > 30).toBe(!isSet);
      }
      atMs += 90 * 60_000;
    }
  });
});

describe("a glitch", () => {
  /** Q of a set latch, looked at every 5 ms around half an hour. */
  function qAround(lines: string): { readonly atMs: number; readonly volts: number }[] {
    const fixture = hotLatch(scenarioWith(`noiseFactor: 0\n${lines}`));
    pulse(fixture, SET, HOT_MS);
    return Array.from({ length: 200 }, (_, index) => {
      const atMs = 0.5 * HOUR_MS - 500 + 5 * index;
      const volts = NODE_PER_PIN * fixture.pinVolts(Q_PIN.pin, Q_PIN.address, atMs);
      return { atMs, volts };
    });
  }

  it("of one channel is read once, for as long as it lasts, and leaves the board alone", () => {
    const volts = qAround(
      "glitches: [{ glitch: misread, channel: Q, addV: -30, forMs: 22, atHours: 0.5 }]",
    );
    const wrong = volts.filter((one) => one.volts < 30);
    expect(wrong.map(({ atMs }) => atMs - 0.5 * HOUR_MS)).toEqual([5, 10, 15, 20, 25]);
    expect(volts.at(-1)?.volts).toBeGreaterThan(38);
  });

  it("waits for the first conversion of its channel", () => {
    const fixture = hotLatch(
      scenarioWith(
        "glitches: [{ glitch: misread, channel: QN, addV: -30, forMs: 25, atHours: 0.1 }]",
      ),
    );
    const read = (atMs: number): number =>
      NODE_PER_PIN * fixture.pinVolts(QN_PIN.pin, QN_PIN.address, atMs);
    expect(read(0.09 * HOUR_MS)).toBeGreaterThan(38);
    expect(read(0.2 * HOUR_MS)).toBeLessThan(20);
    expect(read(0.2 * HOUR_MS + 26)).toBeGreaterThan(38);
  });

  it("that pulls a net changes a latch over, and it stays so", () => {
    const volts = qAround(
      "glitches: [{ glitch: pull, net: Q, volts: 0, forMs: 20, atHours: 0.5 }]",
    );
    const wasHigh = volts.filter((one) => one.atMs < 0.5 * HOUR_MS);
    expect(wasHigh.every((one) => one.volts > 38)).toBe(true);
    expect(volts.slice(-40).every((one) => one.volts < 14)).toBe(true);
  });

  it("of a contact makes it miss one pull and no more", () => {
    const fixture = hotLatch(
      scenarioWith("glitches: [{ glitch: missed contact, contact: SET, atHours: 0.1 }]"),
    );
    const isSetAfter = (atMs: number): boolean => {
      pulse(fixture, SET, atMs);
      const isSet = voltsOf(fixture.nodeVolts(atMs + 200), "Q") > 30;
      pulse(fixture, RESET, atMs + 300);
      fixture.nodeVolts(atMs + 500);
      return isSet;
    };
    const seen = [0.08, 0.12, 0.13, 0.14].map((hours) => isSetAfter(hours * HOUR_MS));
    expect(seen).toEqual([true, false, true, true]);
  });
});
