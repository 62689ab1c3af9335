/** What the registration of a command is given by the program. */
import { join } from "node:path";
import { type Command, Option } from "commander";
import type { RunConduct } from "../../run/conduct.ts";
import { packageFolder } from "../package-folder.ts";
import type { AskedProveOptions, ProveOptions } from "../prove/prove-options.ts";
import type { StandardStreams } from "../standard-streams.ts";

export interface CommandContext {
  readonly streams: StandardStreams;
  /** Say with which exit status the program is to end. */
  readonly leave: (status: number) => void;
}

/**
 * Registers one command: name, arguments, options, description. Its work is imported only when it is
 * asked for, so that `--help` stays quick.
 */
export type AddCommand = (program: Command, context: CommandContext) => void;

/** The proof that is made when no folder is named. */
export const defaultProofFolder = join(packageFolder, "sequences/flasher-latch");

/** Lines to standard output and standard error. */
export const consoleIo = {
  out: (line: string): void => {
    process.stdout.write(`${line}\n`);
  },
  error: (line: string): void => {
    process.stderr.write(`${line}\n`);
  },
};

/** The same in the word that this bench has for its bottles. */
export async function settledIo(): Promise<typeof consoleIo> {
  const { loadSettings } = await import("../settings/load-settings.ts");
  const { spoken } = await import("../settings/with-settings.ts");
  const { word = "tube" } = (await loadSettings()).settings;
  return {
    out: (line) => consoleIo.out(spoken(line, word)),
    error: (line) => consoleIo.error(spoken(line, word)),
  };
}

/** What was asked of a command on a proof, filled up from the settings and checked. @throws UsageError */
export async function askedOfProof(
  folder: string | undefined,
  raw: AskedProveOptions,
  mode: RunConduct["mode"],
): Promise<ProveOptions> {
  const { readProveOptions } = await import("../prove/prove-options.ts");
  const { loadSettings } = await import("../settings/load-settings.ts");
  const { withSettings } = await import("../settings/with-settings.ts");
  const { settings } = await loadSettings();
  return readProveOptions(folder, withSettings(raw, settings), {
    environment: process.env,
    stdoutIsTerminal: process.stdout.isTTY === true,
    defaultFolder: defaultProofFolder,
    mode,
  });
}

/** Where runs lie when the command line does not say. */
export const RUNS_HELP = "that of the settings, or runs in this folder";

/** Of every command that seals or looks at seals. */
export const KEYS_HELP = "folder of keys; else keys beside your settings";

/** Options of every command that makes a run. */
export function addRunOptions(command: Command): Command {
  command
    .option(
      "--port <path>",
      "serial port of a real controller, by path or id; else the emulated bench",
    )
    .option("--seed <n>", "seed of the emulated bench")
    .option("--pace <n>", "emulated seconds per second at most; 1 is real time")
    .option("--unit <serial or file>", "serial of the unit on the bench, or its unit file (.yaml)")
    .option("--runs <dir>", `folder for journals and records; else ${RUNS_HELP}`)
    .option(
      "--wire-log <file>",
      "write every line to and from the controller into a file, bounded",
    );
  return addTellingOptions(command)
    .option("--yes", "do not wait for a key at the cautions")
    .addOption(faultOption());
}

/** For commands whose run may outlast the terminal it was started from. */
export function addDetachOption(command: Command): Command {
  return command.option(
    "--detach",
    "go on without this terminal, which gets its prompt back once the run has begun; see attach",
  );
}

/** Options of every command that shows a run as it goes. */
export function addTellingOptions(command: Command): Command {
  return command
    .option("--plain", "plain lines instead of the screen")
    .option("--json", "one JSON object per event")
    .option("--ascii", "draw with plain ASCII only")
    .option("--mute", "no bell; the key m does the same")
    .option("--no-color", "no colour; NO_COLOR does the same");
}

/** `--fault`, for every command that opens an emulated bench. */
export function faultOption(): Option {
  const about = "fault of the emulated bench, PART.PARAMETER=VALUE[@MS], repeatable";
  return new Option("--fault <change>", about).argParser(collect);
}

/** Parser of an option that may be given again and again. */
export function collect(value: string, before: string[] | undefined): string[] {
  return [...(before ?? []), value];
}
