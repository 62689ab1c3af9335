/** Why a serial port cannot be opened, found out from what the system shows, with what to do. */
import { lstat, readFile, stat } from "node:fs/promises";
import { BenchError } from "./bench-error.ts";
import { listPorts } from "./ports/list-ports.ts";
import { holdersOf } from "./ports/port-holders.ts";

const PORTS_NAMED_MAX = 12;

/** Ports to choose from when the one that was named is not there. */
async function presentPorts(): Promise<string[]> {
  return (await listPorts()).map(({ path }) => path).slice(0, PORTS_NAMED_MAX);
}

/**
 * Refuse what is plainly no device before it is opened.
 *
 * @throws BenchError port-missing, port-not-serial, port-not-permitted
 */
export async function refuseUnlessDevice(path: string): Promise<void> {
  // Names of ports are no paths on Windows: opening decides there.
  if (process.platform === "win32") return;
  let is: string | null;
  try {
    const found = await stat(path);
    if (found.isCharacterDevice()) return;
    is = found.isDirectory() ? "a directory" : found.isFile() ? "a regular file" : null;
  } catch (error) {
    throw await explainStatFailure(path, error);
  }
  throw new BenchError("port-not-serial", { port: path, is: is ?? "no character device" });
}

async function explainStatFailure(path: string, cause: unknown): Promise<BenchError> {
  const code = systemCode(cause);
  if (code === "EACCES") {
    return new BenchError("port-not-permitted", { port: path, group: null }, cause);
  }
  if (code === "ENOTDIR" || code === "ENOENT") {
    return new BenchError("port-missing", { port: path, present: await presentPorts() }, cause);
  }
  return new BenchError("port-open-failed", { port: path }, cause);
}

/** Name the reason behind an opening that failed on a device that was there a moment ago. */
export async function explainOpenFailure(path: string, cause: unknown): Promise<BenchError> {
  const said = cause instanceof Error ? cause.message : String(cause);
  if (/cannot lock|resource busy|in use|access denied/i.test(said)) {
    return new BenchError("port-busy", { port: path, holders: await holdersOf(path) }, cause);
  }
  if (/permission denied|operation not permitted/i.test(said)) {
    return new BenchError("port-not-permitted", { port: path, group: await groupOf(path) }, cause);
  }
  if (/inappropriate ioctl|not a typewriter/i.test(said)) {
    const is = "a device, but no serial line";
    return new BenchError("port-not-serial", { port: path, is }, cause);
  }
  if (!(await exists(path)) || /no such (file|device)|input\/output error/i.test(said)) {
    return new BenchError("port-vanished", { port: path }, cause);
  }
  return new BenchError("port-open-failed", { port: path }, cause);
}

async function exists(path: string): Promise<boolean> {
  return lstat(path).then(
    () => true,
    () => false,
  );
}

/** Name of the group the device belongs to, from /etc/group; null when it cannot be told. */
export async function groupOf(path: string): Promise<string | null> {
  const found = await stat(path).catch(() => null);
  if (found === null) return null;
  const groups = await readFile("/etc/group", "utf8").catch(() => "");
  return groupName(groups, found.gid);
}

/** @param groups text in the form of /etc/group: name, password, number, members */
export function groupName(groups: string, gid: number): string | null {
  for (const line of groups.split("\n")) {
    const [name, , number] = line.split(":");
    if (name && number === String(gid)) return name;
  }
  return null;
}

function systemCode(error: unknown): string | null {
  return error instanceof Error && "code" in error ? String(error.code) : null;
}
