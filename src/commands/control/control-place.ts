/**
 * Where the socket of a run lies: in its folder, or, where that path is too long or its file system
 * knows no sockets, in the person's runtime folder. Both follow from the folder of the run alone.
 */
import { createHash } from "node:crypto";
import { mkdirSync, realpathSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { lockFolder } from "../../bench/ports/port-lock.ts";

/** POSIX leaves the length of sun_path open; Linux has 108 bytes (unix(7)), BSD systems 104, with the end mark. */
const PATH_BYTES_MAX = 103;
const NAME = "control.sock";

export type Environment = Readonly<Record<string, string | undefined>>;

/** Paths where the socket of this run may lie, the one to prefer first; none where there are no such sockets. */
export function controlPlaces(folder: string, environment: Environment): string[] {
  if (process.platform === "win32") return [];
  const real = realpathSync(folder);
  const digest = createHash("sha256").update(real).digest("hex").slice(0, 16);
  const places = [join(real, NAME), join(lockFolder(environment), `run-${digest}.sock`)];
  return places.filter((path) => Buffer.byteLength(path) <= PATH_BYTES_MAX);
}

/**
 * Make sure that nobody else can put another socket in the place of this one.
 *
 * @returns why not, or null when the folder is fit
 */
export function placeTrouble(path: string): string | null {
  const folder = dirname(path);
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 });
    const { uid, mode } = statSync(folder);
    if (uid !== process.getuid?.()) return `${folder} belongs to another account`;
    return (mode & 0o002) === 0 ? null : `${folder} may be written to by every account`;
  } catch (error) {
    return error instanceof Error ? error.message : String(error);
  }
}
