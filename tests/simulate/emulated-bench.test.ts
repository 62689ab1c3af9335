import { readFileSync } from "node:fs";
import { afterEach, describe, expect, it } from "vitest";
import type { BenchLogEntry } from "../../src/simulate/bench-log.ts";
import {
  type EmulatedBench,
  type EmulatedBenchOptions,
  openEmulatedBench,
} from "../../src/simulate/emulated-bench.ts";
import { createScriptedFixture } from "./scripted-fixture.ts";

const hexText = readFileSync(
  new URL("../../firmware-protocol/firmware/holdfast.hex", import.meta.url),
  "utf8",
);

const benches: EmulatedBench[] = [];
afterEach(() => {
  for (const bench of benches.splice(0)) {
    bench.dispose();
  }
});

function open(options: Partial<EmulatedBenchOptions> = {}) {
  const fixture = createScriptedFixture();
  const bench = openEmulatedBench({ fixture, hexText, ...options });
  benches.push(bench);
  const lines: string[] = [];
  let rest = "";
  const listenTo = (port: EmulatedBench["port"]): void => {
    rest = "";
    port.stream.on("data", (bytes: Buffer) => {
      const parts = (rest + bytes.toString("latin1")).split("\n");
      rest = parts.pop() ?? "";
      lines.push(...parts.map((line) => `${bench.clock.nowMs().toFixed(3)} ${line}`));
    });
  };
  listenTo(bench.port);
  const entries: BenchLogEntry[] = [];
  bench.log((entry) => entries.push(entry));
  const texts = (): string[] => lines.map((line) => line.slice(line.indexOf(" ") + 1));
  return { bench, fixture, lines, texts, entries, listenTo };
}

describe("emulated bench", () => {
  it("greets after the reset that opening it causes, on a board that had been running", async () => {
    const { bench, texts } = open();
    await bench.clock.delay(200);
    expect(texts()).toEqual([expect.stringMatching(/^!00\|BOOT 1,[\d.]+,EXT,2\|/)]);
  });

  it("answers a typed question after its bytes have passed over the line", async () => {
    const { bench, lines } = open();
    await bench.clock.delay(200);
    const askedMs = bench.clock.nowMs();
    bench.port.stream.write("SYST:VERS?\n");
    await bench.clock.delay(50);
    const answer = lines.at(-1) ?? "";
    expect(answer).toMatch(/ 1999\.0$/);
    // 11 bytes out and 7 back at 20 us each, and less than 3 ms of work between.
    const tookMs = Number.parseFloat(answer) - askedMs;
    expect(tookMs).toBeGreaterThan(18 * 0.02);
    expect(tookMs).toBeLessThan(18 * 0.02 + 3);
  });

  it("brings outputs to the fixture and the fixture's volts to the channels", async () => {
    const { bench, fixture, texts, entries } = open();
    fixture.codes.set(1, 300).set(10, 444).set(22, 777);
    await bench.clock.delay(200);
    bench.port.stream.write("ROUT:CLOS (@1,4,7,8)\n");
    await bench.clock.delay(20);
    expect(fixture.mask()).toBe(0b1100_1001);
    bench.port.stream.write("MEAS:CODE? 4,(@1,10,22)\n");
    await bench.clock.delay(50);
    expect(texts().at(-1)).toBe("1200:300:300,1776:444:444,3108:777:777");
    const masks = entries.flatMap((entry) => (entry.kind === "outputs" ? [entry.mask] : []));
    expect(masks.at(-1)).toBe(0b1100_1001);
  });

  it("takes the same times to the last digit in two runs, whatever the host does meanwhile", async () => {
    const run = async (busy: boolean): Promise<string[]> => {
      const { bench, lines } = open({ seed: 7 });
      for (let turn = 0; turn < 20; turn += 1) {
        await bench.clock.delay(13.7);
        if (busy) {
          const until = performance.now() + 2;
          while (performance.now() < until) {
            // as a disk wait
          }
        }
        bench.port.stream.write("MEAS:RAIL?\n*IDN?\n");
      }
      await bench.clock.delay(100);
      return lines;
    };
    const quiet = await run(false);
    expect(quiet.length).toBeGreaterThan(30);
    expect(await run(true)).toEqual(quiet);
  });

  it("releases every output in the moment of a reset", async () => {
    const { bench, fixture, texts } = open();
    await bench.clock.delay(200);
    bench.port.stream.write("ROUT:CLOS (@1,4)\n");
    await bench.clock.delay(20);
    expect(fixture.mask()).toBe(0b1001);
    bench.controls.reset("EXT");
    expect(fixture.mask()).toBe(0);
    await bench.clock.delay(200);
    expect(texts().at(-1)).toMatch(/BOOT 1,[\d.]+,EXT,3\|/);
  });

  it("loses outputs and coil supply with its 5 V, and greets as after power-on when it is back", async () => {
    const { bench, fixture, texts } = open();
    await bench.clock.delay(200);
    bench.port.stream.write("ROUT:CLOS (@1,4)\n");
    await bench.clock.delay(20);
    bench.controls.cutSupply();
    expect(fixture.mask()).toBe(0);
    expect(fixture.coilSupply).toEqual([false]);
    bench.port.stream.write("*IDN?\n");
    await bench.clock.delay(200);
    expect(texts().length).toBe(1);
    bench.controls.restoreSupply();
    await bench.clock.delay(200);
    expect(fixture.coilSupply).toEqual([false, true]);
    expect(texts().at(-1)).toMatch(/BOOT 1,[\d.]+,POR,/);
  });

  it("swallows bytes both ways while it loses data, and lets the dead-man run", async () => {
    const { bench, fixture, texts } = open();
    await bench.clock.delay(200);
    bench.port.stream.write("ROUT:CLOS (@1)\n");
    await bench.clock.delay(20);
    bench.controls.loseData(true);
    const before = texts().length;
    bench.port.stream.write("*IDN?\n");
    await bench.clock.delay(1000);
    expect(texts().length).toBe(before);
    expect(fixture.mask()).toBe(0);
    bench.controls.loseData(false);
    bench.port.stream.write("*IDN?\n");
    await bench.clock.delay(50);
    expect(texts().at(-1)).toMatch(/^HOLDFAST,/);
  });

  it("ends the stream with an error when unplugged, keeps running, and can be opened anew", async () => {
    const { bench, fixture, texts, listenTo } = open();
    await bench.clock.delay(200);
    bench.port.stream.write("ROUT:CLOS (@1)\n");
    await bench.clock.delay(20);
    const failed = new Promise((resolve) => bench.port.stream.once("error", resolve));
    bench.controls.unplug();
    expect(await failed).toMatchObject({ message: expect.stringContaining("cable was pulled") });
    expect(bench.port.stream.destroyed).toBe(true);
    await bench.clock.delay(1000);
    expect(fixture.mask()).toBe(0);
    const again = bench.open();
    listenTo(again);
    await bench.clock.delay(200);
    expect(texts().at(-1)).toMatch(/BOOT 1,[\d.]+,EXT,3\|/);
    expect(() => bench.open()).toThrow(/closed before it is opened again/);
    await again.close();
  });

  it("changes a part at its own moment of emulated time", async () => {
    const { bench, fixture } = open();
    const atMs = bench.clock.nowMs() + 33.25;
    bench.controls.change({ part: "V1a", parameter: "emission", value: 0.2, atMs });
    bench.controls.change({ part: "R1", parameter: "ohm", value: 1, atMs: null });
    await bench.clock.delay(100);
    expect(fixture.changes.map(({ change }) => change.part)).toEqual(["R1", "V1a"]);
    expect(fixture.changes[1]?.atMs).toBeCloseTo(atMs, 3);
  });

  it("writes true volts at least every millisecond while they move", async () => {
    const { bench, fixture, entries } = open();
    const beganMs = bench.clock.nowMs();
    fixture.railVolts = (atMs) => ({ heater: (atMs - beganMs) * 0.1, bias: 0, plate: 0 });
    await bench.clock.delay(100);
    const times = entries.flatMap((entry) => (entry.kind === "volts" ? [entry.ms] : []));
    const gaps = times.slice(1).map((ms, index) => ms - (times[index] ?? 0));
    expect(times.length).toBeGreaterThan(95);
    expect(Math.max(...gaps)).toBeLessThan(1.01);
  });

  it("carries EEPROM on to the next bench: the boot count goes up", async () => {
    const first = open();
    await first.bench.clock.delay(200);
    const second = open({ eeprom: first.bench.eepromBytes() });
    await second.bench.clock.delay(200);
    expect(second.texts()[0]).toMatch(/EXT,4\|/);
  });
});
