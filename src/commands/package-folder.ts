/** Where the package lies: firmware and shipped boards are found from here, not from where it is run. */
import { existsSync, readFileSync } from "node:fs";
import { dirname, join } from "node:path";

/** The nearest folder above this file with a package.json: sources and the built program lie differently deep. */
export const packageFolder = nearestPackage(import.meta.dirname);

function nearestPackage(folder: string): string {
  if (existsSync(join(folder, "package.json"))) return folder;
  const above = dirname(folder);
  if (above === folder) throw new Error("Expected a package.json above the program, found none.");
  return nearestPackage(above);
}

export function packageVersion(): string {
  const text = readFileSync(join(packageFolder, "package.json"), "utf8");
  const { version } = JSON.parse(text) as { version: string };
  return version;
}
