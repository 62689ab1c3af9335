/** From what a person named, a path or an id, to the device it is now. */
import { nearestName } from "../../formats/nearest-name.ts";
import { BenchError } from "../bench-error.ts";
import type { PortFacts } from "./list-ports.ts";

/** An id says what kind of name it is; everything else is a path. */
export function isPortId(name: string): boolean {
  return /^(usb|socket):/.test(name);
}

/**
 * The device behind a name. Looked up anew each time, so that a port which came back under another
 * name is found again. A path is taken as it stands: what is wrong with it shows at opening.
 *
 * @throws BenchError port-missing when no port has this id, port-ambiguous when two have
 */
export function findPort(name: string, ports: readonly PortFacts[]): string {
  if (!isPortId(name)) return name;
  const found = ports.filter(({ id }) => id?.toLowerCase() === name.toLowerCase());
  const [port, second] = found;
  if (port === undefined) {
    const ids = ports.flatMap(({ id }) => (id === null ? [] : [id]));
    const near = nearestName(name, ids);
    const present = near === null ? ids : [near, ...ids.filter((id) => id !== near)];
    throw new BenchError("port-missing", { port: name, present });
  }
  if (second !== undefined) {
    throw new BenchError("port-ambiguous", { port: name, paths: found.map(({ path }) => path) });
  }
  return port.path;
}
