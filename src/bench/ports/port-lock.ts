/**
 * One program to a port: a file that names who has it, since when and for what. The device itself is
 * locked as well; the file is what lets the next program say more than "busy".
 */
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, realpathSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir, userInfo } from "node:os";
import { isAbsolute, join } from "node:path";
import { BenchError } from "../bench-error.ts";

interface PortHolder {
  readonly pid: number;
  /** What the port is used for, such as `prove cabin-bench`. */
  readonly purpose: string;
  /** Wall time, ISO 8601. */
  readonly since: string;
}

/** A holder as its file has it. */
interface WrittenHolder extends PortHolder {
  /** When its process was started, in the system's own count; null where the system does not tell. */
  readonly started: string | null;
}

export interface PortLock {
  /** Give the port up. Again does no harm. */
  release(): void;
}

export interface LockGiven extends PortHolder {
  /** Device, or a link to it. */
  readonly path: string;
  /** Folder for the files; the person's own. */
  readonly folder: string;
  readonly isAlive?: (pid: number) => boolean;
  /** When a process was started, in the system's own count; null where it is not told. */
  readonly startOf?: (pid: number) => string | null;
}

/**
 * Lock files live in the folder the XDG Base Directory Specification has for what must not outlast a
 * login, else among the system's temporary files.
 */
export function lockFolder(environment: Readonly<Record<string, string | undefined>>): string {
  const runtime = environment["XDG_RUNTIME_DIR"];
  return runtime !== undefined && isAbsolute(runtime)
    ? join(runtime, "holdfast")
    : join(tmpdir(), `holdfast-${userInfo().username}`);
}

/**
 * Take the port for this program.
 *
 * @throws BenchError port-busy naming the holder; a file of a program that is gone is taken over
 */
export function lockPort(given: LockGiven): PortLock {
  const { path, folder, pid, purpose, since, isAlive = isRunning, startOf = startedBy } = given;
  const file = join(
    folder,
    `${createHash("sha256").update(deviceOf(path)).digest("hex").slice(0, 16)}.lock`,
  );
  const text = `${JSON.stringify({ pid, started: startOf(pid), purpose, since, port: path })}\n`;
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 });
  } catch {
    // Without a place for the file the device's own lock must do.
    return { release: () => undefined };
  }
  for (let turn = 0; turn < 2; turn += 1) {
    if (written(file, text)) return { release: () => rmSync(file, { force: true }) };
    const holder = holderIn(file);
    if (holder !== null && isAlive(holder.pid) && !isAnother(holder, startOf)) {
      const who =
        holder.pid === pid
          ? "this program itself"
          : `holdfast, ${holder.purpose} (process ${holder.pid}), since ${holder.since}`;
      throw new BenchError("port-busy", { port: path, holders: [who] });
    }
    rmSync(file, { force: true });
  }
  throw new BenchError("port-busy", { port: path, holders: [] });
}

function deviceOf(path: string): string {
  try {
    return realpathSync(path);
  } catch {
    // A device that is not there is refused at opening, with more to say.
    return path;
  }
}

function written(file: string, text: string): boolean {
  try {
    writeFileSync(file, text, { flag: "wx", mode: 0o600 });
    return true;
  } catch (error) {
    if (error instanceof Error && "code" in error && error.code === "EEXIST") return false;
    throw error;
  }
}

/** Null for a file that is gone or torn: then nobody can be named, and nobody holds it. */
function holderIn(file: string): WrittenHolder | null {
  try {
    const value: unknown = JSON.parse(readFileSync(file, "utf8"));
    if (typeof value !== "object" || value === null) return null;
    const { pid, purpose, since, started } = value as Record<string, unknown>;
    return typeof pid === "number" && typeof purpose === "string" && typeof since === "string"
      ? { pid, purpose, since, started: typeof started === "string" ? started : null }
      : null;
  } catch {
    return null;
  }
}

/** After a restart of the computer its number may be another program's: that one was started at another time. */
function isAnother(
  { pid, started }: WrittenHolder,
  startOf: (pid: number) => string | null,
): boolean {
  const now = startOf(pid);
  return started !== null && now !== null && now !== started;
}

/** Linux: field 22 of /proc/PID/stat, clock ticks since the system was started (proc(5)). */
function startedBy(pid: number): string | null {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, "latin1");
    // The second field is the program's name in parentheses, which may hold anything.
    return stat.slice(stat.lastIndexOf(")") + 2).split(" ")[19] ?? null;
  } catch {
    // Another system, or a process that is gone: its number alone has to do.
    return null;
  }
}

/** A process of another account answers "not permitted", and is there all the same. */
function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error instanceof Error && "code" in error && error.code === "EPERM";
  }
}
