/** The proof folder that was probably meant by a name that is none. */
import { readdirSync } from "node:fs";
import { basename, dirname, join, relative } from "node:path";
import { nearestName } from "../formats/nearest-name.ts";
import { packageFolder } from "./package-folder.ts";

/** Beside the one named, else among those that ship; null when none is near. */
export function meantFolder(folder: string): string | null {
  const name = basename(folder);
  const beside = nearestName(name, foldersIn(dirname(folder)));
  if (beside !== null) return join(dirname(folder), beside);
  const ships = join(packageFolder, "sequences");
  const shipped = foldersIn(ships);
  const near = shipped.includes(name) ? name : nearestName(name, shipped);
  if (near === null) return null;
  const path = join(ships, near);
  const fromHere = relative(process.cwd(), path);
  return fromHere.length < path.length ? fromHere : path;
}

/** None where there is no such folder or it may not be read: then there is nothing to suggest. */
function foldersIn(folder: string): string[] {
  try {
    return readdirSync(folder, { withFileTypes: true })
      .filter((entry) => entry.isDirectory())
      .map(({ name }) => name);
  } catch (error) {
    if (error instanceof Error && "code" in error) return [];
    throw error;
  }
}
