/** Where the package lies: firmware and shipped boards are found from here, not from where it is run. */
import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";

const packageFolder = resolve(import.meta.dirname, "../..");

export { packageFolder };

export function packageVersion(): string {
  const text = readFileSync(join(packageFolder, "package.json"), "utf8");
  const { version } = JSON.parse(text) as { version: string };
  return version;
}
