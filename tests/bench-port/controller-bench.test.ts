import { describe, expect, it } from "vitest";
import { connectController } from "../../src/bench/connect-controller.ts";
import type { ControllerBench } from "../../src/bench/controller-bench.ts";
import { createVirtualClock, type VirtualClock } from "../../src/clock/virtual-clock.ts";
import { connectedRig, errorOf, resultOf, rigWiring, settled } from "./bench-rig.ts";
import { ControllerModel, withCrc } from "./controller-model.ts";
import { MemoryPort } from "./memory-port.ts";

describe("controller bench, commands", () => {
  it("switches a rail by its output", async () => {
    const { clock, bench, executed } = await connectedRig();
    await resultOf(clock, bench.switchRail("heater", true));
    await resultOf(clock, bench.switchRail("heater", false));
    expect(executed()).toEqual(["ROUT:CLOS (@1)", "ROUT:OPEN (@1)"]);
  });

  it("moves all named lines in one action, by their released levels", async () => {
    const { clock, bench, executed } = await connectedRig();
    await resultOf(clock, bench.setLines({ SET: "high", RESET: "high", LAMP: "high" }));
    await resultOf(clock, bench.setLines({ RESET: "low" }));
    // Outputs 4, 5, 6 are bits 8, 16, 32; RESET is released at high, so its relay is not operated.
    expect(executed()).toEqual(["ROUT:SET 56,40", "ROUT:SET 16,16"]);
  });

  it("splits a long reading into commands of five channels and puts it together again", async () => {
    const { clock, bench, executed } = await connectedRig();
    const names = [...rigWiring.channels.keys()].reverse();
    const readings = await resultOf(clock, bench.read([...names, "Q"], 16));
    expect(executed()).toEqual([
      "MEAS:CODE? 16,(@10,9,8,7,6)",
      "MEAS:CODE? 16,(@5,4,3,2,1)",
      "MEAS:CODE? 16,(@7)",
    ]);
    expect(readings.map((one) => one.channel)).toEqual([...names, "Q"]);
    const code = ControllerModel.code(7);
    expect(readings.at(-1)).toEqual({
      channel: "Q",
      sum: 16 * code,
      count: 16,
      min: code,
      max: code,
    });
  });

  it("asks for spread samples in lines of 60 ms at most, so that what waits is not too old", async () => {
    const { clock, bench, executed } = await connectedRig();
    const names = ["Q", "QN", "SET", "RESET"];
    const readings = await resultOf(clock, bench.readSpread(names, 20));
    expect(readings.map(({ channel, count }) => [channel, count])).toEqual(
      names.map((name) => [name, 20]),
    );
    await resultOf(clock, bench.readSpread(["Q", "QN"], 50));
    await resultOf(clock, bench.readSpread(["Q"], 64));
    expect(executed()).toEqual([
      "MEAS:SPRE? 20,(@7,8,9)",
      "MEAS:SPRE? 20,(@10)",
      "MEAS:SPRE? 50,(@7)",
      "MEAS:SPRE? 50,(@8)",
      "MEAS:SPRE? 64,(@7)",
    ]);
  });

  it("lets readings of supervision go before those of a step, and after an off", async () => {
    const { clock, bench, executed } = await connectedRig();
    const work = [bench.readSpread(["Q"], 50), bench.readSpread(["QN"], 50)];
    const all = Promise.allSettled([
      ...work,
      bench.read(["RESET"], 8, "heartbeat"),
      bench.switchRail("plate", false),
    ]);
    const [, , supervised] = await resultOf(clock, all);
    expect(supervised).toMatchObject({ status: "fulfilled" });
    expect(executed()).toEqual(["MEAS:SPRE? 50,(@7)", "ROUT:OPEN (@3)", "MEAS:CODE? 8,(@10)"]);
  });

  it("names the codes of a rail scan", async () => {
    const { clock, bench } = await connectedRig();
    const { codes } = await resultOf(clock, bench.scanRails());
    expect(codes).toEqual({
      "heater.source": ControllerModel.code(1),
      "heater.board": ControllerModel.code(2),
      "bias.source": ControllerModel.code(3),
      "bias.board": ControllerModel.code(4),
      "plate.source": ControllerModel.code(5),
      "plate.board": ControllerModel.code(6),
    });
  });

  it("asks for the trail of a rail channel by its number, oldest code first", async () => {
    const { clock, bench, executed } = await connectedRig();
    const { scan, codes } = await resultOf(clock, bench.railTrail("plate.board"));
    expect(scan).toBeLessThanOrEqual(65_535);
    // Channel 6 of the scripted controller stands at 100 + 6 * 7.
    expect(codes).toEqual([139, 140, 141, 142]);
    expect(executed()).toEqual(["MEAS:RAIL:TRA? 6"]);
  });

  it("has no trail of a channel that is no rail's", async () => {
    const { bench } = await connectedRig();
    await expect(bench.railTrail("Q")).rejects.toMatchObject({ code: "unknown-name" });
  });

  it("sets limits, arms, clears and sets the fallen code", async () => {
    const { clock, bench, executed } = await connectedRig();
    await resultOf(clock, bench.setTripLimits([{ channel: "bias.board", low: 200, high: 400 }]));
    await resultOf(clock, bench.armTrips(true));
    await resultOf(clock, bench.armTrips(false));
    await resultOf(clock, bench.clearTrip());
    await resultOf(clock, bench.setPlateFallenCode(37));
    await resultOf(clock, bench.orderedOff());
    expect(executed()).toEqual([
      "TRIP:LIM 4,200,400",
      "TRIP:ARM ON",
      "TRIP:ARM OFF",
      "TRIP:CLE",
      "SYST:DEAD:FALL 37",
      "ROUT:OPEN:ALL",
    ]);
  });

  it("keeps one command in flight, and lets the heartbeat go before readings", async () => {
    const { clock, bench, executed } = await connectedRig();
    const all = Promise.all([
      bench.read(["Q", "QN"], 8),
      bench.read(["SET"], 8),
      bench.scanRails(),
      bench.feed(7),
    ]);
    await resultOf(clock, all);
    expect(executed()).toEqual([
      "MEAS:CODE? 8,(@7,8)",
      "MEAS:RAIL?",
      "SYST:FEED 7",
      "MEAS:CODE? 8,(@9)",
    ]);
  });

  it("lets off go before the heartbeat, and gives up readings that still wait", async () => {
    const { clock, bench, executed } = await connectedRig();
    const reading = bench.read(["Q", "QN"], 8);
    const late = bench.read(["SET"], 8).catch((error: unknown) => error);
    const scan = bench.scanRails();
    await resultOf(clock, Promise.all([bench.switchRail("plate", false), reading, scan]));
    expect(await late).toMatchObject({ code: "overtaken" });
    expect(executed()).toEqual(["MEAS:CODE? 8,(@7,8)", "ROUT:OPEN (@3)", "MEAS:RAIL?"]);
  });

  it("reads again after something was switched off", async () => {
    const { clock, bench } = await connectedRig();
    await resultOf(clock, bench.switchRail("plate", false));
    expect(await resultOf(clock, bench.read(["SET"], 8))).toHaveLength(1);
  });

  it("does not send a switching on that a later switching off has overtaken", async () => {
    const { clock, bench, executed } = await connectedRig();
    const reading = bench.read(["Q"], 8);
    const on = bench.switchRail("plate", true).catch((error: unknown) => error);
    await resultOf(clock, bench.switchRail("plate", false));
    expect(await on).toMatchObject({ code: "overtaken" });
    await resultOf(clock, reading);
    expect(executed()).toEqual(["MEAS:CODE? 8,(@7)", "ROUT:OPEN (@3)"]);
  });

  it("overtakes every waiting switching on by an ordered off", async () => {
    const { clock, bench, model } = await connectedRig();
    const reading = bench.read(["Q"], 8);
    const on = Promise.allSettled([
      bench.switchRail("heater", true),
      bench.setLines({ SET: "high" }),
    ]);
    await resultOf(clock, bench.orderedOff());
    await resultOf(clock, reading);
    expect((await on).map((one) => one.status)).toEqual(["rejected", "rejected"]);
    expect(model.outputs).toBe(0);
  });

  it("passes a refusal on with the controller's number and text", async () => {
    const { clock, bench, model } = await connectedRig();
    model.trip = "4,512,900";
    expect(await errorOf(clock, bench.switchRail("heater", true))).toMatchObject({
      code: "refused",
      facts: { command: "ROUT:CLOS (@1)", number: 101, text: "Trip latched" },
    });
  });

  it("rejects names that the wiring does not have without sending anything", async () => {
    const { clock, bench, executed } = await connectedRig();
    const refusals = [
      () => bench.read(["Z"], 8),
      () => bench.setLines({ constructor_: "high" }),
      () => bench.setTripLimits([{ channel: "Z", low: 0, high: 1 }]),
    ];
    for (const refusal of refusals) {
      expect(await errorOf(clock, refusal())).toMatchObject({ code: "unknown-name" });
    }
    expect(executed()).toEqual([]);
  });

  it.each([0, 65, 1.5, Number.NaN])(
    "takes %s samples for a mistake of the program",
    async (samples) => {
      const { clock, bench } = await connectedRig();
      expect(await errorOf(clock, bench.read(["Q"], samples))).toBeInstanceOf(RangeError);
    },
  );

  it("bounds what may wait", async () => {
    const { clock, bench } = await connectedRig();
    const many = Promise.allSettled(Array.from({ length: 100 }, () => bench.read(["Q"], 8)));
    const outcome = await settled(clock, many);
    const results = "value" in outcome ? outcome.value : [];
    const full = results.filter((one) => one.status === "rejected");
    expect(full).toHaveLength(35);
    expect(full[0]).toMatchObject({ reason: { code: "queue-full" } });
  });

  it("rejects a sum that cannot come from its own extremes", async () => {
    const { clock, bench, model } = await connectedRig();
    const receive = model.receive.bind(model);
    model.receive = (line, atMs) => {
      const tag = line.slice(1, 3);
      return line.includes("MEAS:CODE?") ? withCrc(`<${tag}|9000:100:200|`) : receive(line, atMs);
    };
    expect(await errorOf(clock, bench.read(["Q"], 8))).toMatchObject({ code: "reply-malformed" });
  });
});

describe("controller bench, what the controller says unasked", () => {
  async function scanFor(clock: VirtualClock, bench: ControllerBench, ms: number): Promise<void> {
    for (let passedMs = 0; passedMs < ms; passedMs += 100) {
      await resultOf(clock, bench.scanRails());
      await clock.advance(100);
    }
  }

  it("reports a trip with the channel's name", async () => {
    const { clock, port, events } = await connectedRig();
    port.push("TRIP 4,512,1234");
    await clock.advance(5);
    expect(events).toEqual([{ kind: "tripped", channel: "bias.board", code: 512, atMs: 1234 }]);
  });

  it("reports the dead-man", async () => {
    const { clock, port, events } = await connectedRig();
    port.push("DEAD 4321");
    port.push("OFF 4400");
    await clock.advance(5);
    expect(events).toEqual([{ kind: "dead-man", atMs: 4321 }]);
  });

  it("reports a restart, rejects what was under way and switches nothing on afterwards", async () => {
    const { clock, bench, mishaps, events, executed } = await connectedRig();
    mishaps.push({ kind: "restart", greets: true });
    const underWay = Promise.allSettled([bench.read(["Q"], 8), bench.switchRail("heater", true)]);
    for (const outcome of await resultOf(clock, underWay)) {
      expect(outcome).toMatchObject({ reason: { code: "controller-restarted" } });
    }
    expect(events).toEqual([{ kind: "restarted", cause: "BOR", bootCount: 2 }]);
    for (const call of [
      () => bench.switchRail("heater", true),
      () => bench.setLines({ SET: "high" }),
      () => bench.armTrips(true),
    ]) {
      expect(await errorOf(clock, call())).toMatchObject({ code: "controller-restarted" });
    }
    expect(executed()).toEqual([]);
    await resultOf(clock, bench.switchRail("heater", false));
    await resultOf(clock, bench.setLines({ SET: "low", RESET: "high" }));
    await resultOf(clock, bench.scanRails());
  });

  it("notices a restart whose greeting was lost at the next scan, by its number, and hands out no codes of it", async () => {
    const { clock, bench, port, events } = await connectedRig();
    await scanFor(clock, bench, 300);
    port.restart({ cause: "WDT", greets: false });
    await clock.advance(20);
    expect(await errorOf(clock, bench.scanRails())).toMatchObject({
      code: "controller-restarted",
      facts: { cause: "WDT" },
    });
    // Whoever brings rails down afterwards has to see them.
    await scanFor(clock, bench, 100);
    expect(events).toEqual([{ kind: "restarted", cause: "WDT", bootCount: 2 }]);
  });

  it("notices one within ten seconds where the numbers happen to go on", async () => {
    const { clock, bench, model, events } = await connectedRig();
    await scanFor(clock, bench, 300);
    model.bootCount += 1;
    await scanFor(clock, bench, 10_100);
    expect(events).toMatchObject([{ kind: "restarted", bootCount: 2 }]);
  });

  it("asks once a second while all is well, for the ordered off", async () => {
    const { clock, bench, executed } = await connectedRig();
    await scanFor(clock, bench, 3100);
    const asked = executed().filter((body) => body !== "MEAS:RAIL?");
    expect(asked).toEqual(["SYST:OFF?", "SYST:OFF?", "SYST:OFF?"]);
  });

  it("finds out about a trip of which not one line was heard, nor that any was missed", async () => {
    const { clock, bench, model, events } = await connectedRig();
    await scanFor(clock, bench, 300);
    model.trip = "6,900,777";
    model.offStage = "DONE";
    await scanFor(clock, bench, 1100);
    expect(events).toEqual([{ kind: "tripped", channel: "plate.board", code: 900, atMs: 777 }]);
  });

  it("finds out about a dead-man of which nothing was heard", async () => {
    const { clock, bench, model, events } = await connectedRig();
    await scanFor(clock, bench, 300);
    model.offStage = "BIAS";
    await scanFor(clock, bench, 1100);
    expect(events).toMatchObject([{ kind: "dead-man" }]);
  });

  it("finds out about a trip whose line was lost, and says it once", async () => {
    const { clock, bench, model, port, events } = await connectedRig();
    model.trip = "6,900,777";
    model.push("TRIP 6,900,777");
    port.push("OFF 800");
    await clock.advance(20);
    expect(events).toEqual([{ kind: "tripped", channel: "plate.board", code: 900, atMs: 777 }]);
    expect(bench.counters.lostPushes).toBe(1);
    await scanFor(clock, bench, 1100);
    expect(events).toHaveLength(1);
  });

  it("finds out about a dead-man of which only the end of its off was heard", async () => {
    const { clock, model, port, events } = await connectedRig();
    model.offStage = "DONE";
    port.push("OFF 800");
    await clock.advance(20);
    expect(events).toMatchObject([{ kind: "dead-man" }]);
  });

  it("is not surprised by the end of an off it has asked for", async () => {
    const { clock, bench, port, events } = await connectedRig();
    await resultOf(clock, bench.orderedOff());
    port.push("OFF 800");
    await scanFor(clock, bench, 1100);
    expect(events).toEqual([]);
  });

  it("asks when a pushed line comes damaged", async () => {
    const { clock, model, port, events } = await connectedRig();
    model.trip = "2,17,50";
    port.say("!01|TRIP 2,17,5\xff|0000\n");
    await clock.advance(20);
    expect(events).toEqual([{ kind: "tripped", channel: "heater.board", code: 17, atMs: 50 }]);
  });

  it("finds out about a trip whose line was lost during an off that was asked for", async () => {
    const { clock, bench, model, port, events } = await connectedRig();
    await resultOf(clock, bench.orderedOff());
    model.trip = "6,900,777";
    model.push("TRIP 6,900,777");
    port.push("OFF 800");
    await clock.advance(20);
    expect(events).toMatchObject([{ kind: "tripped", channel: "plate.board" }]);
  });

  it("keeps what was said before anyone listened for the first who does", async () => {
    const clock = createVirtualClock();
    const port = new MemoryPort({ clock, model: new ControllerModel() });
    port.greet(10);
    const bench = await resultOf(clock, connectController({ port, clock, wiring: rigWiring }));
    port.push("DEAD 12");
    await clock.advance(5);
    const [first, second]: unknown[][] = [[], []];
    bench.onEvent((event) => first?.push(event));
    bench.onEvent((event) => second?.push(event));
    expect(first).toEqual([{ kind: "dead-man", atMs: 12 }]);
    expect(second).toEqual([]);
  });

  it("says nothing more to one who has left", async () => {
    const { clock, bench, port } = await connectedRig();
    const heard: unknown[] = [];
    const leave = bench.onEvent((event) => heard.push(event));
    leave();
    port.push("DEAD 12");
    await clock.advance(5);
    expect(heard).toEqual([]);
  });
});
