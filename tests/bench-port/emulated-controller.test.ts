/** The client against the real firmware on the emulated controller. */
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { afterEach, describe, expect, it } from "vitest";
import type { BenchEvent } from "../../src/bench/bench.ts";
import { connectController } from "../../src/bench/connect-controller.ts";
import type { ControllerBench } from "../../src/bench/controller-bench.ts";
import { type EmulatedBench, openEmulatedBench } from "../../src/simulate/emulated-bench.ts";
import { rigWiring } from "./bench-rig.ts";
import { codeOf, type ScriptedFixture, scriptedFixture } from "./scripted-fixture.ts";

const hexText = readFileSync(
  resolve(import.meta.dirname, "../../firmware-protocol/firmware/holdfast.hex"),
  "utf8",
);

interface Stand {
  readonly emulated: EmulatedBench;
  readonly fixture: ScriptedFixture;
  readonly bench: ControllerBench;
  readonly events: BenchEvent[];
}

const stands: EmulatedBench[] = [];
afterEach(() => {
  for (const emulated of stands.splice(0)) emulated.dispose();
});

function emulate(): { emulated: EmulatedBench; fixture: ScriptedFixture } {
  const fixture = scriptedFixture();
  const emulated = openEmulatedBench({ fixture, hexText });
  stands.push(emulated);
  return { emulated, fixture };
}

async function connected(): Promise<Stand> {
  const { emulated, fixture } = emulate();
  const { port, clock } = emulated;
  const bench = await connectController({ port, clock, wiring: rigWiring });
  const events: BenchEvent[] = [];
  bench.onEvent((event) => events.push(event));
  return { emulated, fixture, bench, events };
}

async function feedFor(stand: Stand, ms: number): Promise<void> {
  const { clock } = stand.emulated;
  const untilMs = clock.nowMs() + ms;
  while (clock.nowMs() < untilMs) {
    const { scan } = await stand.bench.scanRails();
    await stand.bench.feed(scan);
    await clock.delay(100);
  }
}

/** Heaters, bias and plate on, in order, trips armed around what the bias reads. */
async function energised(): Promise<Stand> {
  const stand = await connected();
  const { bench } = stand;
  await bench.switchRail("heater", true);
  await feedFor(stand, 200);
  await bench.switchRail("bias", true);
  await feedFor(stand, 200);
  const bias = codeOf(0.8);
  await bench.setTripLimits([{ channel: "bias.board", low: bias - 20, high: bias + 20 }]);
  await bench.armTrips(true);
  await bench.switchRail("plate", true);
  await feedFor(stand, 300);
  return stand;
}

describe("client and firmware", () => {
  it("meet at a reset and agree on identity and wiring", async () => {
    const { bench, emulated } = await connected();
    expect(bench.identity).toMatchObject({
      maker: "HOLDFAST",
      model: "CONTROLLER",
      resetCause: "EXT",
    });
    expect(emulated.clock.nowMs()).toBeLessThan(3000);
    expect(bench.counters).toMatchObject({ damagedLines: 0, strayLines: 0, lateReplies: 0 });
  });

  it("meet without a reset when the greeting went by unheard, and the controller is at rest", async () => {
    const { emulated, fixture } = emulate();
    const { port, clock } = emulated;
    // Whoever had the port before took the greeting, left half a line and the heaters on.
    port.stream.resume();
    await clock.delay(500);
    port.stream.write("ROUT:CLOS (@1)\n*ID");
    await clock.delay(10);
    expect(fixture.mask).toBe(1);
    const bench = await connectController({ port, clock, wiring: rigWiring });
    expect(bench.identity.model).toBe("CONTROLLER");
    expect(fixture.mask).toBe(0);
  });

  it("read every channel within a code of its volts, in the order asked", async () => {
    const { bench } = await connected();
    const names = ["Q", "SET", "heater.source", "RESET", "plate.source", "QN", "bias.source"];
    const readings = await bench.read(names, 16);
    expect(readings.map((one) => one.channel)).toEqual(names);
    for (const { channel, sum, count, min, max } of readings) {
      const number = rigWiring.channels.get(channel) ?? 0;
      expect(count).toBe(16);
      expect(Math.abs(sum / count - codeOf(0.2 * number))).toBeLessThanOrEqual(1);
      expect(max - min).toBeLessThanOrEqual(1);
    }
  });

  it("take the longest reading the protocol allows without a repeat", async () => {
    const { bench } = await connected();
    await bench.read(["Q", "QN", "SET", "RESET", "plate.source"], 64);
    expect(bench.counters.repeats).toBe(0);
  });

  it("raise the rails in order and hold them while the dead-man is fed", async () => {
    const { bench, fixture, events } = await energised();
    expect(fixture.mask).toBe(0b111);
    const { codes } = await bench.scanRails();
    expect(Math.abs((codes["plate.board"] ?? 0) - codeOf(1.2))).toBeLessThanOrEqual(1);
    expect(events).toEqual([]);
  });

  it("move lines in one action by their released levels", async () => {
    const { bench, fixture } = await connected();
    await bench.setLines({ SET: "high", RESET: "high", LAMP: "high" });
    expect(fixture.mask).toBe(0b101000);
    await bench.setLines({ SET: "low", RESET: "low" });
    expect(fixture.mask).toBe(0b110000);
  });

  it("refuse plate while trips are not armed, with the remedy in the message", async () => {
    const stand = await connected();
    await stand.bench.switchRail("heater", true);
    await expect(stand.bench.switchRail("plate", true)).rejects.toMatchObject({
      code: "refused",
      facts: { number: 105 },
      message: expect.stringContaining("TRIP:ARM ON"),
    });
  });

  it("take down everything in order on an ordered off, with no event", async () => {
    const stand = await energised();
    await stand.bench.orderedOff();
    expect(stand.fixture.mask & 0b100).toBe(0);
    await watchFor(stand, 600);
    expect(stand.fixture.mask).toBe(0);
    expect(stand.events).toEqual([]);
  });

  it("report a trip by the channel's name, and clear it once all is off", async () => {
    const stand = await energised();
    stand.fixture.volts.set(4, 2.5);
    await watchFor(stand, 600);
    expect(stand.fixture.mask).toBe(0);
    expect(stand.events).toMatchObject([{ kind: "tripped", channel: "bias.board" }]);
    await expect(stand.bench.switchRail("heater", true)).rejects.toMatchObject({
      facts: { number: 101 },
    });
    await stand.bench.clearTrip();
    await stand.bench.switchRail("heater", true);
    expect(stand.fixture.mask).toBe(1);
  });

  it("report the dead-man once when nobody feeds it", async () => {
    const stand = await energised();
    await stand.emulated.clock.delay(1000);
    expect(stand.fixture.mask).toBe(0);
    await watchFor(stand, 1200);
    expect(stand.events).toMatchObject([{ kind: "dead-man" }]);
  });

  it("report a restart in mid-run with its cause, and switch nothing on afterwards", async () => {
    const stand = await energised();
    stand.emulated.controls.reset("BOR");
    await stand.emulated.clock.delay(500);
    expect(stand.events).toEqual([
      { kind: "restarted", cause: "BOR", bootCount: stand.bench.identity.bootCount + 1 },
    ]);
    await expect(stand.bench.switchRail("heater", true)).rejects.toMatchObject({
      code: "controller-restarted",
    });
    expect(stand.fixture.mask).toBe(0);
  });

  it("lose the link when the cable is pulled, and the controller switches off by itself", async () => {
    const stand = await energised();
    stand.emulated.controls.unplug();
    await stand.emulated.clock.delay(1);
    expect(stand.events).toMatchObject([{ kind: "link-lost" }]);
    await expect(stand.bench.scanRails()).rejects.toMatchObject({ code: "link-lost" });
    const port = stand.emulated.open();
    const { clock } = stand.emulated;
    const again = await connectController({ port, clock, wiring: rigWiring });
    expect(again.identity.bootCount).toBe(stand.bench.identity.bootCount + 1);
    expect(stand.fixture.mask).toBe(0);
  });

  it("lose the link after the deadline when bytes vanish without a sign", async () => {
    const stand = await energised();
    const { clock, controls } = stand.emulated;
    controls.loseData(true);
    const fromMs = clock.nowMs();
    while (stand.events.length === 0 && clock.nowMs() - fromMs < 5000) {
      await stand.bench.scanRails().catch((error: unknown) => error);
      await clock.delay(100);
    }
    expect(stand.events).toMatchObject([{ kind: "link-lost" }]);
    expect(clock.nowMs() - fromMs).toBeLessThan(2000);
    expect(stand.fixture.mask).toBe(0);
  });
});

/** Look at the rails for a while without feeding. */
async function watchFor(stand: Stand, ms: number): Promise<void> {
  const { clock } = stand.emulated;
  const untilMs = clock.nowMs() + ms;
  while (clock.nowMs() < untilMs) {
    await stand.bench.scanRails();
    await clock.delay(50);
  }
}
