/** Finding a port by a name that lasts, and one program to a port. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { isBenchError } from "../../../src/bench/bench-error.ts";
import { findPort, isPortId } from "../../../src/bench/ports/find-port.ts";
import { type PortFacts, portFacts } from "../../../src/bench/ports/list-ports.ts";
import { lockFolder, lockPort } from "../../../src/bench/ports/port-lock.ts";

const board = {
  path: "/dev/ttyUSB0",
  manufacturer: "Some Maker",
  vendorId: "1A86",
  productId: "7523",
};

describe("portFacts(port, socket)", () => {
  it("names a board by maker, product and its own number", () => {
    expect(portFacts({ ...board, serialNumber: "A10K" }, "pci-0:usb-0:1")).toEqual({
      path: "/dev/ttyUSB0",
      id: "usb:1a86:7523:A10K",
      idOf: "board",
      about: "Some Maker, 1a86:7523",
    });
  });

  it("names the socket where the board has no number, and says so", () => {
    expect(portFacts(board, "pci-0:usb-0:1")).toMatchObject({
      id: "socket:pci-0:usb-0:1",
      idOf: "socket",
    });
    expect(portFacts({ ...board, locationId: "14200000" }, null).id).toBe("socket:14200000");
  });

  it("makes no name up where the system says nothing", () => {
    expect(portFacts({ path: "/dev/pts/3" }, null)).toEqual({
      path: "/dev/pts/3",
      id: null,
      idOf: null,
      about: null,
    });
  });
});

const facts = (path: string, id: string | null): PortFacts => ({
  path,
  id,
  idOf: id === null ? null : "board",
  about: null,
});

function refusal(act: () => unknown): { code: string; message: string } {
  try {
    act();
  } catch (error) {
    if (isBenchError(error)) return { code: error.code, message: error.message };
    throw error;
  }
  throw new Error("expected a refusal");
}

describe("findPort(name, ports)", () => {
  const ports = [facts("/dev/ttyUSB1", "usb:1a86:7523:A10K"), facts("/dev/ttyS0", null)];

  it("finds a board again under whatever path it came back", () => {
    expect(findPort("usb:1a86:7523:A10K", ports)).toBe("/dev/ttyUSB1");
    expect(findPort("USB:1A86:7523:a10k".replace("USB", "usb"), ports)).toBe("/dev/ttyUSB1");
  });

  it("takes a path as it stands", () => {
    expect(findPort("/dev/ttyACM9", ports)).toBe("/dev/ttyACM9");
    expect(isPortId("COM3")).toBe(false);
  });

  it("says which ids there are when none has it, the nearest first", () => {
    const { code, message } = refusal(() => findPort("usb:1a86:7523:A1OK", ports));
    expect(code).toBe("port-missing");
    expect(message).toContain("usb:1a86:7523:A10K");
  });

  it("refuses an id that two boards have", () => {
    const twice = [...ports, facts("/dev/ttyUSB2", "usb:1a86:7523:A10K")];
    const { code, message } = refusal(() => findPort("usb:1a86:7523:A10K", twice));
    expect(code).toBe("port-ambiguous");
    expect(message).toContain("/dev/ttyUSB1 and /dev/ttyUSB2");
  });
});

describe("lockPort(given)", () => {
  let folder = "";
  const given = (more: object = {}) => ({
    path: "/dev/ttyUSB0",
    folder,
    pid: 4711,
    purpose: "a run on cabin-bench",
    since: "2026-05-01T19:00:00.000+00:00",
    isAlive: () => true,
    ...more,
  });

  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), "holdfast-locks-"));
  });
  afterEach(() => rmSync(folder, { recursive: true }));

  it("names the holder, what for and since when", () => {
    lockPort(given());
    const { code, message } = refusal(() => lockPort(given({ pid: 4712 })));
    expect(code).toBe("port-busy");
    expect(message).toContain("a run on cabin-bench (process 4711), since 2026-05-01T19:00");
  });

  it("lets the next one in after release, and is no trouble to release twice", () => {
    const lock = lockPort(given());
    lock.release();
    lock.release();
    expect(readdirSync(folder)).toEqual([]);
    expect(() => lockPort(given({ pid: 4712 }))).not.toThrow();
  });

  it("takes over what a program left that is gone, and a file that is torn", () => {
    lockPort(given());
    lockPort(given({ pid: 4712, isAlive: (pid: number) => pid !== 4711 }));
    const [file = ""] = readdirSync(folder);
    expect(readFileSync(join(folder, file), "utf8")).toContain("4712");
    writeFileSync(join(folder, file), '{"pid": 47');
    expect(() => lockPort(given({ pid: 4713 }))).not.toThrow();
  });

  it("takes over what a program left whose number is another's by now, as after a restart of the computer", () => {
    lockPort(given({ startOf: () => "812" }));
    expect(() => lockPort(given({ pid: 4712, startOf: () => "812" }))).toThrow("process 4711");
    expect(() => lockPort(given({ pid: 4712, startOf: () => null }))).toThrow("process 4711");
    const next = () =>
      lockPort(given({ pid: 4712, startOf: (pid: number) => (pid === 4711 ? "99401" : "99500") }));
    expect(next).not.toThrow();
  });

  it("locks each port by itself", () => {
    lockPort(given());
    expect(() => lockPort(given({ pid: 4712, path: "/dev/ttyUSB1" }))).not.toThrow();
  });

  it("never stands in the way where there is no place for its file", () => {
    const nowhere = join(folder, "file");
    writeFileSync(nowhere, "");
    expect(() => lockPort(given({ folder: join(nowhere, "locks") }))).not.toThrow();
  });
});

describe("lockFolder(environment)", () => {
  // XDG Base Directory Specification 0.8: XDG_RUNTIME_DIR is absolute, or to be ignored.
  it("is the person's runtime folder, else a folder of their own among temporary files", () => {
    expect(lockFolder({ XDG_RUNTIME_DIR: "/run/user/1000" })).toBe("/run/user/1000/holdfast");
    expect(lockFolder({ XDG_RUNTIME_DIR: "run" })).toMatch(/holdfast-.+$/);
  });
});
