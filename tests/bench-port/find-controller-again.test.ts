/** A controller that went and came back: under its name, under another, as another, or not at all. */
import { describe, expect, it } from "vitest";
import { BenchError } from "../../src/bench/bench-error.ts";
import { findControllerAgain } from "../../src/bench/find-controller-again.ts";
import { type KnownPort, knownPort } from "../../src/bench/ports/known-port.ts";
import type { PortFacts } from "../../src/bench/ports/list-ports.ts";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import { errorOf, resultOf, rigWiring } from "./bench-rig.ts";
import { ControllerModel, type ModelOptions } from "./controller-model.ts";
import { MemoryPort } from "./memory-port.ts";

const LIMIT_MS = 60_000;
const identity = {
  maker: "HOLDFAST",
  model: "CONTROLLER",
  serial: "0",
  firmware: "0.1.0",
  resetCause: "EXT",
  bootCount: 7,
};
const board = (path: string, id: string | null): PortFacts => ({
  path,
  id,
  idOf: id === null ? null : id.startsWith("usb") ? "board" : "socket",
  about: "Some Maker, 1a86:7523",
});
const numbered: KnownPort = knownPort("/dev/ttyUSB0", "/dev/ttyUSB0", [
  board("/dev/ttyUSB0", "usb:1a86:7523:A10K"),
]);
const unnumbered: KnownPort = knownPort("/dev/ttyUSB0", "/dev/ttyUSB0", [
  board("/dev/ttyUSB0", "socket:usb-0:1"),
]);

interface Present {
  readonly facts: PortFacts;
  /** From when on, ms. */
  readonly atMs?: number;
  readonly bootCount?: number;
  readonly model?: ModelOptions;
  readonly busy?: boolean;
}

function stand(present: readonly Present[]) {
  const clock = createVirtualClock();
  const opened: string[] = [];
  const ports: MemoryPort[] = [];
  const here = () => present.filter(({ atMs = 0 }) => clock.nowMs() >= atMs);
  const find = (
    port: KnownPort,
    more: { signal?: AbortSignal; serial?: string; limitMs?: number } = {},
  ) =>
    findControllerAgain({
      identity: { ...identity, ...(more.serial === undefined ? {} : { serial: more.serial }) },
      port,
      wiring: rigWiring,
      clock,
      limitMs: more.limitMs ?? LIMIT_MS,
      ...(more.signal === undefined ? {} : { signal: more.signal }),
      listPorts: async () => here().map(({ facts }) => facts),
      openPort: async (path) => {
        const one = here().find(({ facts }) => facts.path === path);
        if (one === undefined) throw new BenchError("port-missing", { port: path, present: [] });
        opened.push(path);
        if (one.busy) throw new BenchError("port-busy", { port: path, holders: ["minicom"] });
        const model = new ControllerModel(one.model);
        model.bootCount = one.bootCount ?? identity.bootCount + 1;
        const memory = new MemoryPort({ clock, model });
        memory.greet(1000);
        ports.push(memory);
        return memory;
      },
    });
  return { clock, opened, ports, find };
}

describe("findControllerAgain(options)", () => {
  it("finds a board by its own number under another name, and opens no other port for it", async () => {
    const { clock, opened, find } = stand([
      { facts: board("/dev/ttyUSB0", "usb:1a86:7523:OTHER") },
      { facts: board("/dev/ttyUSB3", "usb:1a86:7523:A10K"), atMs: 20_000 },
    ]);
    const found = await resultOf(clock, find(numbered), LIMIT_MS);
    expect(found).toMatchObject({ isFound: true, path: "/dev/ttyUSB3" });
    expect(found.tookMs).toBeGreaterThan(20_000);
    expect(opened).toEqual(["/dev/ttyUSB3"]);
  });

  it("finds it behind the same link though no list of ports has it", async () => {
    const link = knownPort("/dev/bench", "/dev/pts/3", []);
    const { clock, find } = stand([{ facts: board("/dev/bench", null), atMs: 3000 }]);
    const found = await resultOf(clock, find(link), LIMIT_MS);
    expect(found).toMatchObject({ isFound: true, path: "/dev/bench" });
  });

  it("takes a board without a number by its socket", async () => {
    const { clock, opened, find } = stand([
      { facts: board("/dev/ttyUSB1", "socket:usb-0:9") },
      { facts: board("/dev/ttyUSB2", "socket:usb-0:1") },
    ]);
    expect(await resultOf(clock, find(unnumbered), LIMIT_MS)).toMatchObject({
      isFound: true,
      path: "/dev/ttyUSB2",
    });
    expect(opened).toEqual(["/dev/ttyUSB2"]);
  });

  it("looks in another socket only for a controller that tells a number of its own", async () => {
    const moved = { facts: board("/dev/ttyUSB1", "socket:usb-0:9") };
    const told = { identity: "HOLDFAST,CONTROLLER,17,0.1.0" };
    const anonymous = stand([moved]);
    expect(
      await resultOf(anonymous.clock, anonymous.find(unnumbered), LIMIT_MS + 1000),
    ).toMatchObject({ isFound: false });
    expect(anonymous.opened).toEqual([]);
    const known = stand([{ ...moved, model: told }]);
    expect(
      await resultOf(known.clock, known.find(unnumbered, { serial: "17" }), LIMIT_MS),
    ).toMatchObject({ isFound: true, path: "/dev/ttyUSB1" });
  });

  it.each([
    ["another number", { model: { identity: "HOLDFAST,CONTROLLER,18,0.1.0" } }, "serial 0, got 18"],
    ["other firmware", { model: { identity: "HOLDFAST,CONTROLLER,0,0.0.9" } }, "firmware 0.1.0"],
    ["a boot count that went back", { bootCount: 3 }, "boot 7 or later, got 3"],
    ["another wiring", { model: { wiring: "HEATer,1,1,2;PLATe,3,5,6;HIGH" } }, "bias rail"],
    ["another maker", { model: { identity: "LIGHTHOUSE,SUPPLY,0,0.1.0" } }, "LIGHTHOUSE"],
  ])("refuses %s, closes the port and asks it once", async (_what, present, said) => {
    const { clock, opened, ports, find } = stand([
      { facts: board("/dev/ttyUSB0", "usb:1a86:7523:A10K"), ...present },
    ]);
    const found = await resultOf(clock, find(numbered), LIMIT_MS + 1000);
    expect(found).toMatchObject({ isFound: false, tried: [expect.stringContaining(said)] });
    expect(opened).toEqual(["/dev/ttyUSB0"]);
    expect(ports.map(({ closed }) => closed)).toEqual([true]);
  });

  it("waits for a port that another program has, and says at the end who had it", async () => {
    const { clock, opened, find } = stand([
      { facts: board("/dev/ttyUSB0", "usb:1a86:7523:A10K"), busy: true },
    ]);
    const found = await resultOf(clock, find(numbered, { limitMs: 5000 }), LIMIT_MS);
    expect(found).toMatchObject({ isFound: false, tried: [expect.stringContaining("minicom")] });
    expect(opened.length).toBeGreaterThan(5);
    expect(found.tookMs).toBeLessThan(5600);
  });

  it("gives up within its time though a board is silent, and leaves no port and no timer", async () => {
    const { clock, ports, find } = stand([{ facts: board("/dev/ttyUSB0", "usb:1a86:7523:A10K") }]);
    const finding = find(numbered, { limitMs: 600 });
    const found = await resultOf(clock, finding, LIMIT_MS);
    expect(found).toMatchObject({ isFound: false });
    expect(clock.nowMs()).toBeLessThan(700);
    expect(ports.map(({ closed }) => closed)).toEqual([true]);
    // That of the greeting the board would still have sent.
    expect(clock.pendingTimers).toBe(1);
  });

  it("ends at once with the reason when it is told to stop", async () => {
    const { clock, find } = stand([]);
    const stop = new AbortController();
    const finding = find(numbered, { signal: stop.signal });
    finding.catch(() => undefined);
    await clock.advance(1200);
    stop.abort(new Error("stopped by the person"));
    expect(String(await errorOf(clock, finding))).toContain("stopped by the person");
    expect(clock.nowMs()).toBeLessThan(1300);
    expect(clock.pendingTimers).toBe(0);
  });

  it("leaves the controller it found at rest, with nothing switched on", async () => {
    const { clock, find } = stand([{ facts: board("/dev/ttyUSB0", "usb:1a86:7523:A10K") }]);
    const found = await resultOf(clock, find(numbered), LIMIT_MS);
    if (!found.isFound) throw new Error("expected it to be found");
    const [reading] = await resultOf(clock, found.controller.read(["Q"], 8));
    expect(reading?.sum).toBe(8 * ControllerModel.code(7));
  });
});
