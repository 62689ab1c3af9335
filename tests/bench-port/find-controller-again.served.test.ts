/** The real firmware behind a pseudo-terminal that goes and comes back under another name. Linux only. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { connectController } from "../../src/bench/connect-controller.ts";
import { findControllerAgain } from "../../src/bench/find-controller-again.ts";
import { knownPort } from "../../src/bench/ports/known-port.ts";
import { openSerialPort } from "../../src/bench/serial-port.ts";
import { noWiring } from "../../src/bench/wiring.ts";
import { createRealClock } from "../../src/clock/real-clock.ts";
import { createEmulatedController } from "../../src/simulate/emulated-controller.ts";
import { type ServedBench, serveBench } from "../../src/simulate/serve/serve-bench.ts";
import { createScriptedFixture } from "../simulate/scripted-fixture.ts";

const hexText = readFileSync(
  new URL("../../firmware-protocol/firmware/holdfast.hex", import.meta.url),
  "utf8",
);
const clock = createRealClock();
const wiring = noWiring;
const USB_ID = "usb:1a86:7523:A10K";

let folder = "";
let bench: ServedBench;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-again-"));
  bench = serveBench({
    controller: createEmulatedController({ fixture: createScriptedFixture(), hexText, seed: 0 }),
    pace: 4,
    powered: "bus",
    linkPath: join(folder, "controller"),
    onReady: () => undefined,
    onRefused: (message) => {
      throw new Error(message);
    },
  });
});
afterEach(async () => {
  bench.stop();
  await bench.stopped;
  rmSync(folder, { recursive: true, force: true });
});

function devicePath(): string {
  const path = bench.path();
  if (path === null) throw new Error("The bench is unplugged.");
  return path;
}

const open = (path: string) =>
  openSerialPort(path, { clock, lockFolder: join(folder, "locks"), purpose: "a test" });
const listed = (path: string | null) =>
  path === null ? [] : [{ path, id: USB_ID, idOf: "board" as const, about: null }];

async function connected(path: string) {
  const controller = await connectController({ port: await open(path), clock, wiring });
  const { identity } = controller;
  await controller.close();
  return identity;
}

describe.runIf(process.platform === "linux")("findControllerAgain on a served bench", () => {
  it("finds it under another device name by the number of its board, and has it locked", async () => {
    const before = devicePath();
    const identity = await connected(before);
    const port = knownPort(before, before, listed(before));
    bench.act({ do: "unplug" });
    const looked: string[] = [];
    const finding = findControllerAgain({
      identity,
      port,
      wiring,
      clock,
      limitMs: 20_000,
      listPorts: async () => {
        // It comes back while it is being looked for; the system gives it the first name that is free.
        if (looked.push(String(bench.path())) === 2) bench.act({ do: "plug" });
        return listed(bench.path());
      },
      openPort: open,
    });
    const found = await finding;
    if (!found.isFound) throw new Error(found.tried.join("\n"));
    expect(looked[0]).toBe("null");
    expect(found.path).toBe(devicePath());
    expect(found.controller.identity.bootCount).toBeGreaterThan(identity.bootCount);
    await expect(open(found.path)).rejects.toMatchObject({ code: "port-busy" });
    await found.controller.close();
  });

  it("finds it behind the link that a person named", async () => {
    const link = join(folder, "controller");
    const identity = await connected(link);
    bench.act({ do: "unplug" });
    bench.act({ do: "plug" });
    const found = await findControllerAgain({
      identity,
      port: knownPort(link, "/dev/pts/not-this-one", []),
      wiring,
      clock,
      limitMs: 20_000,
      listPorts: async () => [],
      openPort: open,
    });
    if (!found.isFound) throw new Error(found.tried.join("\n"));
    expect(found.path).toBe(link);
    await found.controller.close();
  });
});
