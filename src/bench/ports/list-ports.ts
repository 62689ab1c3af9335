/** The serial ports there are, each with a name that outlasts replugging and renaming. */
import { realpath } from "node:fs/promises";
import { join } from "node:path";
import { SerialPort } from "serialport";
import { readdirOrNone } from "./port-holders.ts";

export interface PortFacts {
  /** Device as the system calls it now, such as /dev/ttyUSB0. */
  readonly path: string;
  /** Name that stays with the board, or with the socket where the board has no number of its own. */
  readonly id: string | null;
  /** What the id stays with. */
  readonly idOf: "board" | "socket" | null;
  /** Who made it, and what it says it is; null when it says nothing. */
  readonly about: string | null;
}

/** What the system tells of a port; every part may be missing. */
export interface SystemPort {
  readonly path: string;
  readonly manufacturer?: string | undefined;
  readonly serialNumber?: string | undefined;
  readonly pnpId?: string | undefined;
  readonly locationId?: string | undefined;
  readonly productId?: string | undefined;
  readonly vendorId?: string | undefined;
}

/** Built-in ports of the mainboard, most of which exist as names only. */
const UNLIKELY_PORT = /\/ttyS\d+$/;
/** Where Linux keeps links that are named by socket. */
const BY_PATH = "/dev/serial/by-path";

/** USB boards first, then by name. A port that exists as a name only is left out. */
export async function listPorts(): Promise<PortFacts[]> {
  const sockets = await socketNames();
  const ports = (await systemPorts())
    .filter(({ path }) => !UNLIKELY_PORT.test(path))
    .map((port) => portFacts(port, sockets.get(port.path) ?? null));
  return ports.sort(
    (a, b) => Number(a.id === null) - Number(b.id === null) || a.path.localeCompare(b.path),
  );
}

/**
 * Maker, product and serial number make a name that stays with the board; without a number of its
 * own two boards of a kind cannot be told apart, and the name is that of the socket.
 */
export function portFacts(port: SystemPort, socket: string | null): PortFacts {
  const { path, manufacturer, serialNumber, vendorId, productId } = port;
  const kind = vendorId && productId ? `${vendorId}:${productId}`.toLowerCase() : null;
  const about = [manufacturer, kind].filter((one) => one !== null && one !== undefined).join(", ");
  const facts = { path, about: about === "" ? null : about };
  if (kind !== null && serialNumber !== undefined && serialNumber !== "") {
    return { ...facts, id: `usb:${kind}:${serialNumber}`, idOf: "board" };
  }
  const place = socket ?? port.locationId ?? null;
  if (place !== null && place !== "") {
    return { ...facts, id: `socket:${place}`, idOf: "socket" };
  }
  return { ...facts, id: null, idOf: null };
}

async function systemPorts(): Promise<SystemPort[]> {
  return SerialPort.list().then(
    (ports) => ports,
    // The list comes from udevadm, which small systems lack; the names in /dev say as much.
    () => namesInDev(),
  );
}

async function namesInDev(): Promise<SystemPort[]> {
  const names = await readdirOrNone("/dev");
  return names
    .filter((name) => /^(ttyACM|ttyUSB|cu\.usb)/.test(name))
    .map((name) => ({ path: `/dev/${name}` }));
}

async function socketNames(): Promise<ReadonlyMap<string, string>> {
  const named = new Map<string, string>();
  for (const name of await readdirOrNone(BY_PATH)) {
    const device = await realpath(join(BY_PATH, name)).catch(() => null);
    if (device !== null) named.set(device, name);
  }
  return named;
}
