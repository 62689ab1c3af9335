import { mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, describe, expect, it } from "vitest";
import { BenchError } from "../../src/bench/bench-error.ts";
import { connectController } from "../../src/bench/connect-controller.ts";
import { closeWithin, type OpenablePort, openWithin } from "../../src/bench/port-limits.ts";
import { openSerialPort } from "../../src/bench/serial-port.ts";
import { explainOpenFailure, groupName } from "../../src/bench/serial-port-refusal.ts";
import { createVirtualClock } from "../../src/clock/virtual-clock.ts";
import { openPseudoTerminal } from "../../src/simulate/serve/pseudo-terminal.ts";
import { rigWiring } from "./bench-rig.ts";
import { ControllerModel } from "./controller-model.ts";

const clock = createVirtualClock();
const onLinux = process.platform === "linux";
const folder = mkdtempSync(join(tmpdir(), "holdfast-port-"));
const undo: (() => unknown)[] = [() => rmSync(folder, { recursive: true, force: true })];

afterEach(async () => {
  for (const step of undo.splice(1).reverse()) await step();
});

async function refusal(path: string): Promise<unknown> {
  try {
    const port = await openSerialPort(path, { clock });
    await port.close();
  } catch (error) {
    return error;
  }
  throw new Error(`${path} opened.`);
}

describe.runIf(onLinux)("openSerialPort refuses", () => {
  it("a path where nothing is", async () => {
    expect(await refusal("/dev/ttyNOWHERE7")).toMatchObject({
      code: "port-missing",
      facts: { port: "/dev/ttyNOWHERE7" },
    });
  });

  it("a link whose device is not plugged in", async () => {
    const link = join(folder, "controller");
    symlinkSync("/dev/ttyNOWHERE7", link);
    expect(await refusal(link)).toMatchObject({ code: "port-missing" });
  });

  it("a path below a file", async () => {
    const file = join(folder, "plain");
    writeFileSync(file, "x");
    expect(await refusal(join(file, "ttyACM0"))).toMatchObject({ code: "port-missing" });
  });

  it("a directory", async () => {
    const error = await refusal(folder);
    expect(error).toMatchObject({ code: "port-not-serial", facts: { is: "a directory" } });
  });

  it("a regular file", async () => {
    const file = join(folder, "file");
    writeFileSync(file, "x");
    const error = await refusal(file);
    expect(error).toMatchObject({ code: "port-not-serial", facts: { is: "a regular file" } });
  });

  it("a device that is no serial line", async () => {
    expect(await refusal("/dev/null")).toMatchObject({ code: "port-not-serial" });
  });

  it("a port that is locked, and says by whom", async () => {
    const terminal = openPseudoTerminal();
    undo.push(() => terminal.close());
    const port = await openSerialPort(terminal.path, { clock });
    undo.push(() => port.close());
    const error = await refusal(terminal.path);
    expect(error).toMatchObject({ code: "port-busy" });
    expect(String(error)).toContain("this program itself");
  });
});

describe.runIf(onLinux)("openSerialPort on a pseudo-terminal", () => {
  it("carries a whole connection, and none of it after close", async () => {
    const terminal = openPseudoTerminal();
    undo.push(() => terminal.close());
    const model = new ControllerModel();
    let held = "";
    let bytesSeen = 0;
    terminal.onBytes((bytes) => {
      bytesSeen += bytes.length;
      const lines = (held + Buffer.from(bytes).toString("latin1")).split("\n");
      held = lines.pop() ?? "";
      for (const line of lines) {
        const reply = model.receive(line, clock.nowMs());
        if (reply !== null) terminal.write(Buffer.from(`${reply}\n`));
      }
    });
    const port = await openSerialPort(terminal.path, { clock });
    const connecting = connectController({ port, clock, wiring: rigWiring });
    terminal.write(Buffer.from(`${model.greeting()}\n`));
    const bench = await connecting;
    const [reading] = await bench.read(["Q"], 8);
    expect(reading?.sum).toBe(8 * ControllerModel.code(7));
    await bench.close();
    await bench.close();
    const before = bytesSeen;
    await expect(bench.switchRail("plate", false)).rejects.toMatchObject({ code: "closed" });
    const again = await openSerialPort(terminal.path, { clock });
    await again.close();
    expect(bytesSeen).toBe(before);
  });

  it("loses the link with the next command when the device vanishes", async () => {
    const terminal = openPseudoTerminal();
    const model = new ControllerModel();
    let held = "";
    terminal.onBytes((bytes) => {
      const lines = (held + Buffer.from(bytes).toString("latin1")).split("\n");
      held = lines.pop() ?? "";
      for (const line of lines) {
        const reply = model.receive(line, clock.nowMs());
        if (reply !== null) terminal.write(Buffer.from(`${reply}\n`));
      }
    });
    const port = await openSerialPort(terminal.path, { clock });
    const connecting = connectController({ port, clock, wiring: rigWiring });
    terminal.write(Buffer.from(`${model.greeting()}\n`));
    const bench = await connecting;
    const events: unknown[] = [];
    bench.onEvent((event) => events.push(event));
    terminal.close();
    // The far end goes in the next turn of the event loop. A read that had just begun then gets no
    // bytes and no error for ever; the next write, a heartbeat at the latest, tells.
    await new Promise((resolve) => setImmediate(resolve));
    await expect(bench.scanRails()).rejects.toMatchObject({ code: "link-lost" });
    expect(events).toMatchObject([{ kind: "link-lost" }]);
    await bench.close();
  });
});

describe("explainOpenFailure", () => {
  const said = (text: string) => new Error(`Error: ${text}, cannot open`);

  it.runIf(onLinux)("names the group of a device that is not permitted", async () => {
    expect(await explainOpenFailure("/dev/null", said("Permission denied"))).toMatchObject({
      code: "port-not-permitted",
      facts: { group: "root" },
    });
  });

  it("takes a device that is gone by now for vanished, and keeps the cause", async () => {
    const cause = said("No such file or directory");
    const error = await explainOpenFailure("/dev/ttyNOWHERE7", cause);
    expect(error).toMatchObject({ code: "port-vanished" });
    expect(error.cause).toBe(cause);
  });

  it.runIf(onLinux).each([
    ["Input/output error", "port-vanished"],
    ["No such device or address", "port-vanished"],
    ["Device or resource busy", "port-busy"],
    ["Resource temporarily unavailable Cannot lock port", "port-busy"],
    ["Inappropriate ioctl for device", "port-not-serial"],
    ["Something new", "port-open-failed"],
  ])("takes %j for %s", async (text, code) => {
    expect(await explainOpenFailure("/dev/null", said(text))).toMatchObject({ code });
  });

  it("reads group names in the form of /etc/group", () => {
    const groups = "root:x:0:\nbroken\ndialout:x:20:ada,grace\n";
    expect(groupName(groups, 20)).toBe("dialout");
    expect(groupName(groups, 21)).toBeNull();
  });
});

describe("opening and closing within a limit", () => {
  function standIn() {
    const calls: string[] = [];
    let opened: (error: Error | null) => void = () => undefined;
    let closed: (error: Error | null) => void = () => undefined;
    const port: OpenablePort = {
      isOpen: true,
      open: (done) => {
        opened = done;
      },
      close: (done) => {
        calls.push("close");
        if (done !== undefined) closed = done;
      },
      destroy: () => calls.push("destroy"),
    };
    return {
      port,
      calls,
      open: () => opened(null),
      close: (error?: Error) => closed(error ?? null),
    };
  }

  it("gives up an opening that hangs, and closes it when it comes after all", async () => {
    const hangs = standIn();
    const opening = openWithin(hangs.port, { port: "p", clock, limitMs: 100 });
    opening.catch(() => undefined);
    await clock.advance(99);
    expect(hangs.calls).toEqual([]);
    await clock.advance(1);
    await expect(opening).rejects.toMatchObject({ code: "port-open-timeout" });
    hangs.open();
    expect(hangs.calls).toEqual(["close"]);
  });

  it("gives up a closing that hangs, and destroys the port", async () => {
    const hangs = standIn();
    const closing = closeWithin(hangs.port, { port: "p", clock, limitMs: 100 });
    closing.catch(() => undefined);
    await clock.advance(100);
    await expect(closing).rejects.toBeInstanceOf(BenchError);
    expect(hangs.calls).toEqual(["close", "destroy"]);
  });

  it("takes a device that went away while closing for closed", async () => {
    const gone = standIn();
    const closing = closeWithin(gone.port, { port: "p", clock, limitMs: 100 });
    gone.close(Object.assign(new Error("EIO"), { disconnected: true }));
    await closing;
    expect(gone.calls).toEqual(["close", "destroy"]);
    expect(clock.pendingTimers).toBe(0);
  });
});
