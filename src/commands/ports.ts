/** `holdfast ports`: which serial ports there are, by names that last, and who has them. */
import { access, constants } from "node:fs/promises";
import { listPorts, type PortFacts } from "../bench/ports/list-ports.ts";
import { holdersOf } from "../bench/ports/port-holders.ts";
import { groupOf } from "../bench/serial-port-refusal.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";

const NONE =
  "No serial port is present. Plug the controller in and look again; a cable that only charges shows none.";

/** Opens no port: looking restarts no board. */
export async function portsCommand(io: CheckIo): Promise<ExitStatus> {
  const ports = await listPorts();
  if (ports.length === 0) io.out(NONE);
  for (const port of ports) for (const line of await portLines(port)) io.out(line);
  if (ports.some(({ id }) => id !== null)) {
    io.out("Name either the path or the id after --port, or in a rig file; an id is found again");
    io.out("when the path has changed.");
  }
  return EXIT.pass;
}

async function portLines(port: PortFacts): Promise<string[]> {
  const { path, id, idOf, about } = port;
  const stays = idOf === "socket" ? " (stays with the socket: this board has no number)" : "";
  return [
    `${path}${about === null ? "" : `  ${about}`}`,
    ...(id === null ? ["  no lasting name"] : [`  id ${id}${stays}`]),
    ...(await stateLines(path)),
  ];
}

async function stateLines(path: string): Promise<string[]> {
  const holders = await holdersOf(path);
  if (holders.length > 0) return [`  in use by ${holders.join(", ")}`];
  try {
    await access(path, constants.R_OK | constants.W_OK);
    return ["  free"];
  } catch {
    const group = await groupOf(path);
    const fix = group === null ? "" : `: sudo usermod -aG ${group} $USER, then log out and in`;
    return [`  this account may not open it${fix}`];
  }
}
