import { describe, expect, it } from "vitest";
import { connectController } from "../../src/bench/connect-controller.ts";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import { errorOf, resultOf, rigWiring } from "./bench-rig.ts";
import { ControllerModel, type ModelOptions, withCrc } from "./controller-model.ts";
import { MemoryPort } from "./memory-port.ts";

function stand(options: ModelOptions = {}) {
  const clock = createVirtualClock();
  const model = new ControllerModel(options);
  const port = new MemoryPort({ clock, model });
  const connect = (signal?: AbortSignal) =>
    connectController({
      port,
      clock,
      wiring: rigWiring,
      ...(signal === undefined ? {} : { signal }),
    });
  return { clock, model, port, connect };
}

describe("connectController", () => {
  it("waits for the greeting before it sends anything", async () => {
    const { clock, port, connect } = stand();
    port.greet(2100);
    const connecting = connect();
    await clock.advance(2099);
    expect(port.written).toBe("");
    const bench = await resultOf(clock, connecting);
    expect(bench.identity).toEqual({
      maker: "HOLDFAST",
      model: "CONTROLLER",
      serial: "0",
      firmware: "0.1.0",
      resetCause: "POR",
      bootCount: 1,
    });
  });

  it("reads the greeting behind a bootloader's stray text", async () => {
    const { clock, model, port, connect } = stand();
    port.say(`boot\xf0\x00 v4${model.greeting()}\r\n`, 300);
    const bench = await resultOf(clock, connect());
    expect(bench.identity.bootCount).toBe(1);
    expect(clock.nowMs()).toBeLessThan(400);
  });

  it("asks a controller that does not restart at opening, and brings it to rest first", async () => {
    const { clock, model, connect } = stand();
    model.outputs = 0b111;
    const bench = await resultOf(clock, connect());
    expect(bench.identity.model).toBe("CONTROLLER");
    expect(model.outputs).toBe(0);
    expect(model.executed.map((one) => one.body)).toContain("*RST");
  });

  it("ends a half line that an earlier program left in the controller", async () => {
    const { clock, port, connect } = stand();
    port.stream.write(">05|ROUT:CLOS (@1");
    await resultOf(clock, connect());
    expect(port.written).toContain(">05|ROUT:CLOS (@1\n>");
  });

  it("sends nothing that switches an output on", async () => {
    const { clock, model, port, connect } = stand();
    port.greet(10);
    await resultOf(clock, connect());
    const moved = model.executed.filter(({ body }) => /ROUT:(CLOS|SET) /.test(body));
    expect(moved).toEqual([]);
  });

  it("starts over when the controller restarts while it is being asked", async () => {
    const { clock, port, connect } = stand();
    port.greet(10);
    const connecting = connect();
    await clock.advance(12);
    port.restart({ cause: "EXT", greets: true });
    const bench = await resultOf(clock, connecting);
    expect(bench.identity).toMatchObject({ bootCount: 2, resetCause: "EXT" });
  });

  it("says so when nothing answers, and closes the port", async () => {
    const { clock, port, connect } = stand();
    port.goSilent();
    const error = await errorOf(clock, connect());
    expect(error).toMatchObject({ code: "no-answer", facts: { port: "memory port" } });
    expect(port.closed).toBe(true);
  });

  it("names what something else on the port said", async () => {
    const { clock, port, connect } = stand();
    port.say("$GPGGA,092750.000,5321.6802,N\r\n", 50);
    port.stream.on("data", () => port.goSilent());
    const error = await errorOf(clock, connect());
    expect(error).toMatchObject({ code: "not-a-controller" });
    expect(String(error)).toContain("$GPGGA,092750.000");
  });

  it("takes endless garbage without a line feed for something else", async () => {
    const { clock, port, connect } = stand();
    port.say("\xff".repeat(200_000), 50);
    port.stream.once("data", () => port.goSilent());
    port.say("\n", 60);
    const error = await errorOf(clock, connect());
    expect(error).toMatchObject({ code: expect.stringMatching(/^(not-a-controller|no-answer)$/) });
  });

  it("refuses an instrument of another maker by its identity", async () => {
    const { clock, port, connect } = stand({ identity: "LIGHTHOUSE,SUPPLY,12,2.0" });
    port.greet(10);
    const error = await errorOf(clock, connect());
    expect(error).toMatchObject({
      code: "not-a-controller",
      facts: { said: "LIGHTHOUSE,SUPPLY,12,2.0" },
    });
  });

  it("refuses a protocol it does not know before it asks anything", async () => {
    const { clock, model, port, connect } = stand({ protocol: 2 });
    port.greet(10);
    const error = await errorOf(clock, connect());
    expect(error).toMatchObject({
      code: "protocol-unsupported",
      facts: { expected: "1", received: "2" },
    });
    expect(model.executed).toEqual([]);
  });

  it("refuses a controller that does not greet and speaks another protocol", async () => {
    const { clock, connect } = stand({ capability: "2,8,22,64,5" });
    expect(await errorOf(clock, connect())).toMatchObject({ code: "protocol-unsupported" });
  });

  it.each([
    ["an exchanged output", "HEATer,1,1,2;BIAS,3,3,4;PLATe,2,5,6;HIGH", "bias output is 2"],
    ["an exchanged channel", "HEATer,1,2,1;BIAS,2,3,4;PLATe,3,5,6;HIGH", "heater source channel"],
    ["a missing rail", "HEATer,1,1,2;PLATe,3,5,6;HIGH", "bias rail"],
    ["the other polarity", "HEATer,1,1,2;BIAS,2,3,4;PLATe,3,5,6;LOW", "active HIGH"],
    ["a line on a rail's output", "HEATer,1,1,2;BIAS,2,3,4;PLATe,4,5,6;HIGH", "line SET"],
  ])("refuses a controller wired with %s", async (_what, wiring, named) => {
    const { clock, port, connect } = stand({ wiring });
    port.greet(10);
    const error = await errorOf(clock, connect());
    expect(error).toMatchObject({ code: "wiring-disagrees" });
    expect(String(error)).toContain(named);
  });

  it("gives up at once when it is told to stop", async () => {
    const { clock, port, connect } = stand();
    const stop = new AbortController();
    const connecting = connect(stop.signal);
    await clock.advance(100);
    stop.abort(new Error("stopped by the person"));
    const error = await errorOf(clock, connecting);
    expect(String(error)).toContain("stopped by the person");
    expect(port.closed).toBe(true);
    expect(clock.nowMs()).toBeLessThan(200);
    expect(clock.pendingTimers).toBe(0);
  });

  it("says that the port went when it is unplugged while it waits", async () => {
    const { clock, port, connect } = stand();
    const connecting = connect();
    await clock.advance(100);
    port.unplug();
    expect(await errorOf(clock, connecting)).toMatchObject({ code: "link-lost" });
    expect(clock.nowMs()).toBeLessThan(200);
  });

  it("takes no greeting whose checksum is wrong", async () => {
    const { clock, model, port, connect } = stand();
    model.greeting();
    port.say(`${withCrc("!00|BOOT 1,0.1.0,POR,9|").replace("POR", "EXT")}\n`, 10);
    const connecting = connect();
    await clock.advance(3000);
    expect(port.written).toBe("");
    expect((await resultOf(clock, connecting)).identity.bootCount).toBe(1);
  });
});
