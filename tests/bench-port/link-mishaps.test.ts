import { describe, expect, it } from "vitest";
import { BenchError } from "../../src/bench/bench-error.ts";
import { LINK_DEADLINE_MS, REPLY_DEADLINE_MS } from "../../src/bench/controller-link.ts";
import { connectedRig, errorOf, type Rig, resultOf, settled } from "./bench-rig.ts";
import { ControllerModel, type Executed } from "./controller-model.ts";
import { type Mishap, seededChance, seededMishaps } from "./memory-port.ts";

const SURVIVED: readonly Mishap[] = [
  { kind: "reply late", byMs: 300 },
  { kind: "reply lost" },
  { kind: "reply doubled" },
  { kind: "reply truncated", keep: 7 },
  { kind: "reply corrupt", at: 5, bit: 0 },
  { kind: "half a line, then the reply" },
  { kind: "garbage, then the reply", bytes: 300 },
  { kind: "command corrupt", at: 6 },
  { kind: "command torn", keep: 9 },
];

describe("controller link, one mishap", () => {
  it.each(SURVIVED)("reads true codes when there is $kind", async (mishap) => {
    const { clock, bench, mishaps } = await connectedRig();
    mishaps.push(mishap);
    const [reading] = await resultOf(clock, bench.read(["Q"], 8));
    expect(reading?.sum).toBe(8 * ControllerModel.code(7));
  });

  it.each(SURVIVED)("switches a rail on and knows it when there is $kind", async (mishap) => {
    const { clock, bench, model, mishaps } = await connectedRig();
    mishaps.push(mishap);
    await resultOf(clock, bench.switchRail("heater", true));
    expect(model.outputs).toBe(1);
  });

  it.each([{ kind: "reply lost" }, { kind: "reply truncated", keep: 5 }] as const)(
    "asks instead of switching on again when there is $kind",
    async (mishap) => {
      const { clock, bench, mishaps, executed } = await connectedRig();
      mishaps.push(mishap);
      await resultOf(clock, bench.switchRail("heater", true));
      expect(executed()).toEqual(["ROUT:CLOS (@1)", "ROUT:CLOS? (@1)"]);
    },
  );

  it("asks first and only then repeats a setting that never arrived", async () => {
    const { clock, bench, mishaps, executed } = await connectedRig();
    mishaps.push({ kind: "command torn", keep: 9 });
    await resultOf(clock, bench.setTripLimits([{ channel: "bias.board", low: 1, high: 2 }]));
    expect(executed()).toEqual(["TRIP:LIM? 4", "TRIP:LIM 4,1,2"]);
  });

  it("does not repeat a switching on that was overtaken while its reply was missing", async () => {
    const { clock, bench, model, mishaps } = await connectedRig();
    mishaps.push({ kind: "command torn", keep: 9 });
    const on = bench.switchRail("plate", true).catch((error: unknown) => error);
    await clock.advance(50);
    await resultOf(clock, bench.switchRail("plate", false));
    await clock.advance(1000);
    expect(await on).toMatchObject({ code: "overtaken" });
    expect(model.outputs).toBe(0);
  });

  it("repeats a switching off at once", async () => {
    const { clock, bench, mishaps, executed } = await connectedRig();
    mishaps.push({ kind: "reply lost" });
    await resultOf(clock, bench.switchRail("plate", false));
    expect(executed()).toEqual(["ROUT:OPEN (@3)", "ROUT:OPEN (@3)"]);
  });

  it("tells who fed that its repeat was too old: whether the first one came is not known", async () => {
    const { clock, bench, model, mishaps } = await connectedRig();
    mishaps.push({ kind: "reply lost" });
    expect(await errorOf(clock, bench.feed(3))).toMatchObject({ facts: { number: 106 } });
    expect(model.lastFed).toBe(3);
  });

  it("never takes a late reply for the answer to a later command", async () => {
    const { clock, bench, mishaps } = await connectedRig();
    mishaps.push({ kind: "reply late", byMs: 401 }, { kind: "reply lost" });
    expect(await errorOf(clock, bench.read(["Q"], 1))).toMatchObject({
      code: "reply-lost",
      facts: { attempts: 2 },
    });
    const [reading] = await resultOf(clock, bench.read(["QN"], 1));
    expect(reading).toMatchObject({ channel: "QN", sum: ControllerModel.code(8) });
    await clock.advance(100);
    expect(bench.counters.lateReplies).toBe(1);
  });

  it("counts what it survives", async () => {
    const { clock, bench, port, mishaps } = await connectedRig();
    port.say("AT+GCAP\r\n");
    port.say("\xff".repeat(1000));
    port.say("\n");
    await clock.advance(5);
    mishaps.push({ kind: "reply corrupt", at: 5, bit: 1 });
    await resultOf(clock, bench.scanRails());
    expect(bench.counters).toMatchObject({
      strayLines: 2,
      overlongLines: 1,
      damagedLines: 1,
      repeats: 1,
    });
  });
});

describe("controller link, lost for good", () => {
  async function heartbeatUntilLost(rig: Rig): Promise<void> {
    for (let beat = 0; beat < 30 && rig.events.length === 0; beat += 1) {
      await settled(rig.clock, rig.bench.scanRails());
      await rig.clock.advance(100);
    }
  }

  it("is lost once after the deadline of silence, and everything after rejects at once", async () => {
    const rig = await connectedRig();
    const { clock, bench, port, events } = rig;
    await resultOf(clock, bench.scanRails());
    const silentFromMs = clock.nowMs();
    let lostAtMs = Number.NaN;
    bench.onEvent(() => {
      lostAtMs = clock.nowMs();
    });
    port.goSilent();
    await heartbeatUntilLost(rig);
    expect(events).toMatchObject([{ kind: "link-lost" }]);
    expect(lostAtMs - silentFromMs).toBeGreaterThanOrEqual(LINK_DEADLINE_MS);
    expect(lostAtMs - silentFromMs).toBeLessThan(LINK_DEADLINE_MS + 100 + REPLY_DEADLINE_MS);
    expect(port.closed).toBe(true);
    const written = port.written;
    for (const call of [
      () => bench.switchRail("plate", false),
      () => bench.read(["Q"], 1),
      () => bench.feed(1),
    ]) {
      const beforeMs = clock.nowMs();
      expect(await errorOf(clock, call())).toMatchObject({ code: "link-lost" });
      expect(clock.nowMs() - beforeMs).toBeLessThanOrEqual(1);
    }
    await clock.advance(5000);
    expect(port.written).toBe(written);
    expect(events).toHaveLength(1);
  });

  it("is not lost while replies come, however many lines are damaged", async () => {
    const { clock, bench, events } = await connectedRig(
      seededMishaps({ seed: 1, share: 0.5, kinds: ["reply corrupt", "reply doubled"] }),
    );
    for (let beat = 0; beat < 100; beat += 1) {
      await settled(clock, bench.scanRails());
      await clock.advance(100);
    }
    expect(events).toEqual([]);
  });

  it("is not lost by idleness", async () => {
    const { clock, bench, events } = await connectedRig();
    await clock.advance(60_000);
    await resultOf(clock, bench.scanRails());
    expect(events).toEqual([]);
  });

  it("is lost at once when it is unplugged in the middle of a write", async () => {
    const { clock, bench, events, mishaps } = await connectedRig();
    mishaps.push({ kind: "unplug in the middle of the write", keep: 8 });
    const calls = Promise.allSettled([bench.read(["Q"], 8), bench.scanRails(), bench.feed(1)]);
    const beforeMs = clock.nowMs();
    const outcomes = await resultOf(clock, calls);
    expect(clock.nowMs() - beforeMs).toBeLessThan(10);
    for (const outcome of outcomes) {
      expect(outcome).toMatchObject({ reason: { code: "link-lost" } });
    }
    expect(events).toHaveLength(1);
    expect(String(events[0]?.kind === "link-lost" && events[0].reason)).toContain("descriptor");
  });

  it("says nothing of a lost link when it was closed on purpose", async () => {
    const { clock, bench, port, events } = await connectedRig();
    const reading = bench.read(["Q"], 8).catch((error: unknown) => error);
    await resultOf(clock, bench.close());
    await bench.close();
    expect(await reading).toMatchObject({ code: "closed" });
    expect(await errorOf(clock, bench.scanRails())).toMatchObject({ code: "closed" });
    expect(events).toEqual([]);
    expect(port.closed).toBe(true);
    expect(clock.pendingTimers).toBe(0);
  });
});

const CAMPAIGN_KINDS: readonly Mishap["kind"][] = [
  ...SURVIVED.map((mishap) => mishap.kind),
  "restart",
];
const SEEDS = Array.from({ length: 60 }, (_, index) => index + 1);

describe("controller link, seeded campaigns", () => {
  it.each(SEEDS)(
    "seed %i: every call ends, no reading is false, nothing is switched blindly",
    async (seed) => {
      const rig = await connectedRig(seededMishaps({ seed, share: 0.15, kinds: CAMPAIGN_KINDS }));
      const { clock, bench, model } = rig;
      const chance = seededChance(seed + 1000);
      let afterRestart: number | null = null;
      bench.onEvent((event) => {
        if (event.kind === "restarted") afterRestart ??= model.executed.length;
      });
      for (let step = 0; step < 40; step += 1) {
        const begun = model.executed.length;
        const [scan, read, moved] = await resultOf(
          clock,
          Promise.allSettled([
            bench.scanRails(),
            bench.read(["Q", "QN", "SET", "RESET", "heater.board", "bias.board"], 4),
            chance() < 0.5
              ? bench.switchRail("heater", chance() < 0.5)
              : bench.setLines({ SET: chance() < 0.5 ? "high" : "low" }),
          ]),
        );
        if (scan.status === "fulfilled") {
          expect(scan.value.codes["plate.board"]).toBe(ControllerModel.code(6));
        }
        if (read.status === "fulfilled") {
          expect(read.value.map((one) => one.sum / one.count)).toEqual(
            [7, 8, 9, 10, 2, 4].map(ControllerModel.code),
          );
        }
        if (moved.status === "rejected") expect(moved.reason).toBeInstanceOf(BenchError);
        expect(blindRepeats(model.executed.slice(begun))).toEqual([]);
        await clock.advance(20 + chance() * 100);
      }
      expect(rig.events.filter((event) => event.kind === "link-lost")).toEqual([]);
      if (afterRestart !== null) {
        expect(model.executed.slice(afterRestart).filter(switchesOn)).toEqual([]);
      }
    },
  );

  function switchesOn({ body }: Executed): boolean {
    return body.startsWith("ROUT:CLOS (") || /^ROUT:SET \d+,[1-9]/.test(body);
  }

  /** Switchings on carried out twice with no query of the outputs between. */
  function blindRepeats(executed: readonly Executed[]): Executed[] {
    const route = executed.filter(({ body }) => body.startsWith("ROUT:"));
    return route.filter((one, at) => switchesOn(one) && route[at - 1]?.body === one.body);
  }
});
