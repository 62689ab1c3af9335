/** Work on the controller's own clock: the client against the real firmware on the emulated controller. */
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { afterEach, describe, expect, it } from "vitest";
import { connectController } from "../../src/bench/connect-controller.ts";
import type { ControllerBench } from "../../src/bench/controller-bench.ts";
import type { TimedWork } from "../../src/bench/timed-work.ts";
import { type EmulatedBench, openEmulatedBench } from "../../src/simulate/emulated-bench.ts";
import { connectedRig, rigWiring, settled } from "./bench-rig.ts";
import { codeOf, type ScriptedFixture, scriptedFixture } from "./scripted-fixture.ts";

const hexText = readFileSync(
  resolve(import.meta.dirname, "../../firmware-protocol/firmware/holdfast.hex"),
  "utf8",
);

interface Stand {
  readonly emulated: EmulatedBench;
  readonly fixture: ScriptedFixture;
  readonly bench: ControllerBench;
  readonly timed: TimedWork;
}

const stands: EmulatedBench[] = [];
afterEach(() => {
  for (const emulated of stands.splice(0)) emulated.dispose();
});

async function connected(): Promise<Stand> {
  const fixture = scriptedFixture();
  const emulated = openEmulatedBench({ fixture, hexText });
  stands.push(emulated);
  const { port, clock } = emulated;
  const bench = await connectController({ port, clock, wiring: rigWiring });
  return { emulated, fixture, bench, timed: await bench.timed() };
}

/** The scripted fixture puts 0.2 V on each channel for its number. */
const code = (name: string) => codeOf(0.2 * (rigWiring.channels.get(name) ?? 0));

describe("a step", () => {
  it("moves lines by their released levels, settles by the controller's clock and reads", async () => {
    const { emulated, fixture, timed } = await connected();
    const fromMs = emulated.clock.nowMs();
    const readings = await timed.step(
      { levels: { SET: "high", RESET: "high" }, settleUs: 20_000 },
      ["Q", "QN"],
    );
    expect(emulated.clock.nowMs() - fromMs).toBeGreaterThanOrEqual(20);
    expect(fixture.mask).toBe(0b001000);
    expect(readings.map(({ channel, count }) => [channel, count])).toEqual([
      ["Q", 1],
      ["QN", 1],
    ]);
    for (const { channel, sum } of readings) {
      expect(Math.abs(sum - code(channel))).toBeLessThanOrEqual(1);
    }
  });

  it("refuses a settle that the wire cannot say, and a line there is not", async () => {
    const { timed } = await connected();
    const step = { levels: { SET: "high" }, settleUs: 65_536 } as const;
    await expect(timed.step(step, ["Q"])).rejects.toThrow("0 to 65535 us; got 65536");
    const lost = { levels: { GATE: "high" }, settleUs: 1 } as const;
    await expect(timed.step(lost, ["Q"])).rejects.toMatchObject({ code: "unknown-name" });
  });
});

describe("a block", () => {
  const steps = [
    { levels: { SET: "high" }, settleUs: 1000 },
    { levels: { SET: "low" }, settleUs: 1000 },
  ] as const;

  it("tells every step in order, and feeds go between", async () => {
    const { bench, emulated, timed } = await connected();
    await bench.switchRail("heater", true);
    const told: number[] = [];
    let ended = false;
    const channels = ["Q", "QN", "SET"];
    const onCodes = (at: number, codes: readonly number[]) => {
      told.push(at);
      expect(codes.map((one, index) => Math.abs(one - code(channels[index] ?? "")))).toEqual(
        codes.map((_, index) => expect.toSatisfy((off: number) => off <= 1, `${index}`)),
      );
    };
    const run = timed.block(steps, { channels, rounds: 300, onCodes }).finally(() => {
      ended = true;
    });
    for (const from = emulated.clock.nowMs(); !ended; ) {
      const { scan } = await bench.scanRails();
      await bench.feed(scan);
      await emulated.clock.delay(100);
      if (emulated.clock.nowMs() - from > 5000) throw new Error("the block never ends");
    }
    await expect(run).resolves.toEqual({ count: 600, why: "done", late: 0 });
    expect(told).toEqual(Array.from({ length: 600 }, (_, index) => index + 1));
    expect(bench.counters).toMatchObject({ lostPushes: 0, repeats: 0, lateReplies: 0 });
  });

  it("ends when it is asked to", async () => {
    const { emulated, timed } = await connected();
    const run = timed.block(steps, { channels: ["Q"], rounds: 60_000, onCodes: () => undefined });
    await emulated.clock.delay(50);
    await timed.stopBlock();
    const { count, why } = await run;
    expect(why).toBe("stopped");
    expect(count).toBeGreaterThan(5);
  });

  it("ends with an ordered off, and closes nothing after it", async () => {
    const { bench, emulated, fixture, timed } = await connected();
    const run = timed.block(steps, { channels: ["Q"], rounds: 60_000, onCodes: () => undefined });
    await emulated.clock.delay(50);
    await bench.orderedOff();
    await expect(run).resolves.toMatchObject({ why: "off" });
    await emulated.clock.delay(200);
    expect(fixture.mask).toBe(0);
  });

  it("is given up when the controller restarts or the cable is pulled", async () => {
    for (const mishap of ["reset", "unplug"] as const) {
      const { emulated, timed } = await connected();
      const run = timed.block(steps, { channels: ["Q"], rounds: 60_000, onCodes: () => undefined });
      const given = expect(run).rejects.toMatchObject({
        code: mishap === "reset" ? "controller-restarted" : "link-lost",
      });
      await emulated.clock.delay(50);
      if (mishap === "reset") emulated.controls.reset("EXT");
      else emulated.controls.unplug();
      await emulated.clock.delay(500);
      await given;
    }
  });

  it("is given up when codes are missing, and says so", async () => {
    const { emulated, timed } = await connected();
    const run = timed.block(steps, { channels: ["Q"], rounds: 60_000, onCodes: () => undefined });
    const given = expect(run).rejects.toMatchObject({ code: "reply-lost" });
    await emulated.clock.delay(50);
    emulated.controls.loseData(true);
    await emulated.clock.delay(20);
    emulated.controls.loseData(false);
    await emulated.clock.delay(200);
    await given;
  });

  it("is refused when it has no step or more than the controller holds", async () => {
    const { timed } = await connected();
    const asked = { channels: ["Q"], rounds: 1, onCodes: () => undefined };
    await expect(timed.block([], asked)).rejects.toThrow("1 to 32 steps; got 0");
    const many = Array.from({ length: 33 }, () => steps[0]);
    await expect(timed.block(many, asked)).rejects.toThrow("got 33");
  });
});

describe("pulses", () => {
  it("go there and back by the controller's clock", async () => {
    const { emulated, fixture, bench } = await connected();
    const fromMs = emulated.clock.nowMs();
    const seen: number[] = [];
    const pulse = bench.pulse({ SET: "high" }, 30_000);
    await emulated.clock.delay(15);
    seen.push(fixture.mask & 0b1000);
    await pulse;
    seen.push(fixture.mask & 0b1000);
    expect(seen).toEqual([0b1000, 0]);
    expect(emulated.clock.nowMs() - fromMs).toBeGreaterThanOrEqual(30);
  });

  it("are refused where what drives the line is slower", async () => {
    const fixture = scriptedFixture();
    const emulated = openEmulatedBench({ fixture, hexText });
    stands.push(emulated);
    const slow = { output: 4, releasedLevel: "low", driverUs: 10_000 } as const;
    const wiring = { ...rigWiring, lines: new Map([["SET", slow]]) };
    const { port, clock } = emulated;
    const bench = await connectController({ port, clock, wiring });
    await expect(bench.pulse({ SET: "high" }, 9999)).rejects.toMatchObject({
      code: "driver-too-slow",
      message: expect.stringContaining("takes 10000 us to operate or release"),
    });
    expect(fixture.mask).toBe(0);
    await bench.pulse({ SET: "high" }, 10_000);
  });

  it("come by the host's clock from firmware that does not know them", async () => {
    const { bench, clock, model } = await connectedRig();
    await settled(clock, bench.pulse({ SET: "high" }, 20_000));
    const lines = model.executed.filter(({ body }) => body.startsWith("ROUT:SET"));
    expect(lines.map(({ body }) => body)).toEqual(["ROUT:SET 8,8", "ROUT:SET 8,0"]);
    const [there, back] = lines;
    expect((back?.atMs ?? 0) - (there?.atMs ?? 0)).toBeGreaterThanOrEqual(20);
    const timed = await settled(clock, bench.timed());
    expect(timed).toMatchObject({ error: { code: "firmware-too-old" } });
  });

  it("follow each other in both orders", async () => {
    const { fixture, timed } = await connected();
    await timed.stagger({ SET: "high" }, { LAMP: "high" }, 50);
    expect(fixture.mask & 0b101000).toBe(0b101000);
    await timed.stagger({ LAMP: "low" }, { SET: "low" }, 0);
    expect(fixture.mask & 0b101000).toBe(0);
  });
});

describe("trains and bursts", () => {
  it("tell set after set", async () => {
    const { timed } = await connected();
    const sets: (readonly number[])[] = [];
    const end = await timed.train({
      channels: ["Q", "QN"],
      sets: 40,
      intervalUs: 5000,
      onCodes: (at, codes) => {
        expect(at).toBe(sets.length + 1);
        sets.push(codes);
      },
    });
    expect(end).toEqual({ count: 40, why: "done", late: 0 });
    expect(sets).toHaveLength(40);
    for (const [q = 0, qn = 0] of sets) {
      expect(Math.abs(q - code("Q"))).toBeLessThanOrEqual(1);
      expect(Math.abs(qn - code("QN"))).toBeLessThanOrEqual(1);
    }
  });

  it("are refused at an interval that leaves no time for the scan of the rails", async () => {
    const { timed } = await connected();
    const asked = { channels: ["Q"], sets: 1, intervalUs: 400, onCodes: () => undefined };
    await expect(timed.train(asked)).rejects.toMatchObject({
      code: "refused",
      facts: { number: -222 },
    });
    await expect(timed.train({ ...asked, intervalUs: 0 })).resolves.toMatchObject({ count: 1 });
  });

  it("burst only where the pin is fast", async () => {
    const { fixture, timed } = await connected();
    await expect(timed.burst("Q", { SET: "high" }, 0)).rejects.toMatchObject({
      code: "channel-not-fast",
      message: expect.stringContaining("time constant of 3000 us"),
    });
    expect(fixture.mask & 0b1000).toBe(0);
    const codes = await timed.burst("QN", { SET: "high" }, 0);
    expect(codes).toHaveLength(56);
    expect(fixture.mask & 0b1000).toBe(0b1000);
  });
});
