/** The served bench through a real pseudo-terminal and the real serial port library. Linux only. */
import { spawn } from "node:child_process";
import { lstatSync, mkdtempSync, readFileSync, readlinkSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { PassThrough } from "node:stream";
import { fileURLToPath } from "node:url";
import { SerialPort } from "serialport";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { BenchLogEntry } from "../../../src/simulate/bench-log.ts";
import { createEmulatedController } from "../../../src/simulate/emulated-controller.ts";
import {
  type ServeBenchOptions,
  type ServedBench,
  serveBench,
} from "../../../src/simulate/serve/serve-bench.ts";
import { createScriptedFixture, type ScriptedFixture } from "../scripted-fixture.ts";

const hexText = readFileSync(
  new URL("../../../firmware-protocol/firmware/holdfast.hex", import.meta.url),
  "utf8",
);

let folder = "";
const running: ServedBench[] = [];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "holdfast-serve-"));
});
afterEach(async () => {
  for (const bench of running.splice(0)) {
    bench.stop();
    await bench.stopped;
  }
  rmSync(folder, { recursive: true, force: true });
});

interface Served {
  readonly bench: ServedBench;
  readonly fixture: ScriptedFixture;
  readonly controls: PassThrough;
  readonly ready: string[];
  readonly refused: string[];
  log(): BenchLogEntry[];
  /** Resolves with the first log entry that fits; looks again whenever the event loop turns. */
  untilLogged(fits: (entry: BenchLogEntry) => boolean): Promise<BenchLogEntry>;
}

function serve(options: Partial<ServeBenchOptions> = {}): Served {
  const fixture = createScriptedFixture();
  const controls = new PassThrough();
  const ready: string[] = [];
  const refused: string[] = [];
  const logPath = join(folder, "bench.ndjson");
  const bench = serveBench({
    controller: createEmulatedController({ fixture, hexText, seed: 0 }),
    pace: 10,
    powered: "separate",
    linkPath: join(folder, "controller"),
    logPath,
    controls,
    onReady: (path) => ready.push(path),
    onRefused: (message) => refused.push(message),
    ...options,
  });
  running.push(bench);
  const log = (): BenchLogEntry[] =>
    readFileSync(logPath, "utf8")
      .split("\n")
      .slice(0, -1)
      .map((line) => JSON.parse(line) as BenchLogEntry);
  return {
    bench,
    fixture,
    controls,
    ready,
    refused,
    log,
    async untilLogged(fits) {
      for (;;) {
        const found = log().find(fits);
        if (found !== undefined) {
          return found;
        }
        await new Promise((resolve) => setImmediate(resolve));
      }
    },
  };
}

interface Client {
  readonly port: SerialPort;
  line(pattern: RegExp): Promise<string>;
  close(): Promise<void>;
}

async function connect(path: string): Promise<Client> {
  const port = new SerialPort({ path, baudRate: 500_000, autoOpen: false });
  let text = "";
  let look: () => void = () => undefined;
  port.on("data", (bytes: Buffer) => {
    text += bytes.toString("latin1");
    look();
  });
  await new Promise<void>((resolve, reject) => {
    port.open((error) => (error === null ? resolve() : reject(error)));
  });
  return {
    port,
    line: (pattern) =>
      new Promise((resolve) => {
        look = () => {
          const lines = text.split("\n");
          const index = lines.slice(0, -1).findIndex((line) => pattern.test(line));
          if (index >= 0) {
            text = lines.slice(index + 1).join("\n");
            resolve(lines[index] ?? "");
          }
        };
        look();
      }),
    close: () => new Promise((resolve) => port.close(() => resolve())),
  };
}

describe("served bench", () => {
  it("says its path, links to it, and takes the link away when it stops", async () => {
    const { bench, ready } = serve();
    const link = join(folder, "controller");
    expect(ready).toEqual([bench.path()]);
    expect(readlinkSync(link)).toBe(bench.path());
    bench.stop();
    await bench.stopped;
    expect(lstatSync(link, { throwIfNoEntry: false })).toBeUndefined();
  });

  it("resets the controller at each opening, as DTR does, and answers through serialport", async () => {
    const { ready } = serve();
    const first = await connect(ready[0] ?? "");
    const greeting = await first.line(/BOOT/);
    first.port.write("*IDN?\n");
    expect(await first.line(/HOLDFAST/)).toMatch(/^HOLDFAST,CONTROLLER,/);
    await first.close();
    const second = await connect(ready[0] ?? "");
    const count = (line: string): number => Number(/EXT,(\d+)\|/.exec(line)?.[1]);
    expect(count(await second.line(/BOOT/))).toBe(count(greeting) + 1);
    await second.close();
  });

  it("keeps nothing for a client that comes later", async () => {
    const { ready, untilLogged } = serve();
    const first = await connect(ready[0] ?? "");
    await first.line(/BOOT/);
    first.port.write("*IDN?\n*IDN?\n*IDN?\n");
    await first.close();
    await untilLogged((entry) => entry.kind === "link" && entry.state === "closed");
    const second = await connect(ready[0] ?? "");
    expect(await second.line(/./)).toMatch(/^!00\|BOOT/);
    await second.close();
  });

  it("goes on when its host is killed: the dead-man switches off by itself", async () => {
    const { ready, untilLogged, controls, fixture } = serve();
    const script = fileURLToPath(new URL("./hold-port-open.ts", import.meta.url));
    const host = spawn(process.execPath, ["--import", "tsx", script, ready[0] ?? ""], {
      stdio: ["ignore", "pipe", "inherit"],
    });
    await new Promise((resolve) => host.stdout.once("data", resolve));
    expect(fixture.mask()).toBe(1);
    controls.write('{"do":"mark","text":"host killed"}\n');
    host.kill("SIGKILL");
    const mark = await untilLogged((entry) => entry.kind === "mark");
    const closed = await untilLogged((entry) => entry.kind === "link" && entry.state === "closed");
    const off = await untilLogged(
      (entry) => entry.ms > mark.ms && entry.kind === "outputs" && entry.mask === 0,
    );
    expect(closed.ms).toBeGreaterThanOrEqual(mark.ms);
    // Dead-man of 600 ms and at most 400 ms of ordered off, counted from the last feed (PROTOCOL).
    expect(off.ms - mark.ms).toBeLessThan(1000);
  });

  it.each([
    ["bus", true],
    ["separate", false],
  ] as const)("powered %s, loses the controller with the cable: %s", async (powered, loses) => {
    const { ready, bench, controls, fixture, untilLogged } = serve({ powered });
    const client = await connect(ready[0] ?? "");
    await client.line(/BOOT/);
    // The library notices a hang-up while it waits for bytes, not while it fetches some.
    const idleMs = bench.nowMs() + 100;
    while (bench.nowMs() < idleMs) {
      await new Promise((resolve) => setImmediate(resolve));
    }
    const gone = new Promise((resolve) => client.port.once("close", resolve));
    controls.write('{"do":"unplug"}\n');
    await gone;
    await untilLogged((entry) => entry.kind === "link" && entry.state === "unplugged");
    expect(bench.path()).toBeNull();
    expect(fixture.coilSupply).toEqual(loses ? [false] : []);
    controls.write('{"do":"plug"}\n');
    while (ready.length < 2) {
      await new Promise((resolve) => setImmediate(resolve));
    }
    expect(readlinkSync(join(folder, "controller"))).toBe(ready[1]);
    expect(fixture.coilSupply).toEqual(loses ? [false, true] : []);
  });

  it("acts on control lines and refuses what it does not know, by name", async () => {
    const { controls, fixture, refused, untilLogged } = serve();
    controls.write('{"do":"change","part":"R1","parameter":"ohm","value":1}\n');
    controls.write('{"do":"explode"}\n');
    controls.write("reset\n");
    controls.write('{"do":"cut-5v"}\n');
    await untilLogged((entry) => entry.kind === "supply");
    expect(fixture.changes[0]?.change).toEqual({
      part: "R1",
      parameter: "ohm",
      value: 1,
      atMs: null,
    });
    expect(fixture.coilSupply).toEqual([false]);
    expect(refused[0]).toMatch(/control "\{"do":"explode"\}" is refused: do:/);
    expect(refused[1]).toMatch(/expected a control as one line of JSON, got "reset"/);
  });

  it("stops when its controls end, if told to", async () => {
    const { bench, controls } = serve({ stopWhenControlsEnd: true });
    controls.end();
    await bench.stopped;
    expect(bench.path()).toBeNull();
  });

  it("keeps to its pace: 500 emulated ms take at least 50 real ms", async () => {
    const begun = performance.now();
    const { bench } = serve({ logPath: join(folder, "bench.ndjson") });
    const fromMs = bench.nowMs();
    while (bench.nowMs() < fromMs + 500) {
      await new Promise((resolve) => setImmediate(resolve));
    }
    expect(performance.now() - begun).toBeGreaterThanOrEqual(49);
  });

  it("does not replace a file that is no link", () => {
    writeFileSync(join(folder, "controller"), "mine");
    expect(() => serve()).toThrow(/expected no file or a symbolic link/);
    expect(readFileSync(join(folder, "controller"), "utf8")).toBe("mine");
  });
});
