/** Read the settings of the person at this computer; none is as good as an empty file. */
import { homedir } from "node:os";
import { problemLines } from "../../formats/problem.ts";
import { loadSettingsFile, type Settings } from "../../formats/settings.schema.ts";
import { readProofFile } from "../read-proof-file.ts";
import { UsageError } from "../usage-error.ts";
import { settingsPath } from "./settings-place.ts";

export interface LoadedSettings {
  readonly path: string;
  /** False when there is no such file. */
  readonly found: boolean;
  readonly settings: Settings;
}

/**
 * @throws UsageError with every problem of the file: settings that are half understood would be used
 *   on a live bench
 */
export async function loadSettings(): Promise<LoadedSettings> {
  const path = settingsPath({
    environment: process.env,
    platform: process.platform,
    home: homedir(),
  });
  const read = await readProofFile(path, "settings");
  if (!read.ok) {
    if (read.problems.every(({ reason }) => reason.startsWith("no such file"))) {
      return { path, found: false, settings: {} };
    }
    throw new UsageError(problemLines(read.problems).join("\n"));
  }
  const loaded = loadSettingsFile(read.file.text, path);
  if (!loaded.ok) throw new UsageError(problemLines(loaded.problems).join("\n"));
  const { format: _, version: __, ...settings } = loaded.document.value;
  return { path, found: true, settings };
}
