/** `holdfast settings`: where they lie, and what is in force. */
import type { Settings } from "../../formats/settings.schema.ts";
import type { CheckIo } from "../check.ts";
import { EXIT, type ExitStatus } from "../exit-status.ts";
import { loadSettings } from "./load-settings.ts";
import { DEFAULT_RUNS } from "./with-settings.ts";

/** What holds where neither the command line nor a file says otherwise. */
const DEFAULTS: Readonly<Record<keyof Settings, string>> = {
  runs: DEFAULT_RUNS,
  ascii: "by the locale",
  colour: "on a terminal",
  mute: "false",
  word: "tube",
  initials: "none",
};

/** @throws UsageError when the file cannot be understood */
export async function settingsCommand(io: CheckIo): Promise<ExitStatus> {
  const { path, found, settings } = await loadSettings();
  io.out(found ? path : `${path} (no such file yet)`);
  for (const [key, usual] of Object.entries(DEFAULTS)) {
    const entry = Object.entries(settings).find(([name]) => name === key);
    const value = entry?.[1];
    const from = value === undefined ? "as usual" : "from the file";
    io.out(`  ${key.padEnd(9)} ${String(value ?? usual)}  (${from})`);
  }
  if (process.env["NO_COLOR"]) io.out("  NO_COLOR is set: no colour, whatever stands above");
  if (!found) {
    io.out("To begin one:");
    io.out("  format: holdfast-settings");
    io.out("  version: 1");
    io.out("  word: valve");
  }
  return EXIT.pass;
}
