/**
 * Where settings lie: the XDG Base Directory Specification where there is one, else the place the
 * system has for such files. The places on macOS and Windows were not tried on those systems.
 */
import { posix, win32 } from "node:path";

export interface Surroundings {
  readonly environment: Readonly<Record<string, string | undefined>>;
  readonly platform: NodeJS.Platform;
  readonly home: string;
}

/** A relative XDG_CONFIG_HOME is to be ignored, the specification says. */
export function settingsPath({ environment, platform, home }: Surroundings): string {
  const { join, isAbsolute } = platform === "win32" ? win32 : posix;
  const named = environment["XDG_CONFIG_HOME"];
  if (named !== undefined && isAbsolute(named)) return join(named, "holdfast", "settings.yaml");
  if (platform === "win32") {
    const roaming = environment["APPDATA"] ?? join(home, "AppData", "Roaming");
    return join(roaming, "holdfast", "settings.yaml");
  }
  const folder =
    platform === "darwin" ? join(home, "Library", "Application Support") : join(home, ".config");
  return join(folder, "holdfast", "settings.yaml");
}

/** Where keys are kept: beside the settings. */
export function keysPath(surroundings: Surroundings): string {
  const { join, dirname } = surroundings.platform === "win32" ? win32 : posix;
  return join(dirname(settingsPath(surroundings)), "keys");
}
