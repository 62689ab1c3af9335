/** `prove`: the command when none is named. */
import type { RawProveOptions } from "../prove/prove-options.ts";
import { type AddCommand, defaultProofFolder, faultOption } from "./command-context.ts";

export const addProve: AddCommand = (program, { streams, leave }) => {
  program
    .command("prove [folder]", { isDefault: true })
    .description("prove one unit of a board (the command when none is named)")
    .option("--port <path>", "serial port of a real controller; else the emulated bench")
    .option("--seed <n>", "seed of the emulated bench")
    .option("--pace <n>", "emulated seconds per second at most; 1 is real time")
    .option("--unit <serial>", "serial of the unit under proof")
    .option("--runs <dir>", "folder for journals and records", "runs")
    .option("--plain", "plain lines instead of the screen")
    .option("--json", "one JSON object per event")
    .option("--ascii", "draw with plain ASCII only")
    .option("--no-color", "no colour; NO_COLOR does the same")
    .option("--yes", "do not wait for a key at the cautions")
    .addOption(faultOption())
    .action(async (folder: string | undefined, raw: RawProveOptions) => {
      const { readProveOptions } = await import("../prove/prove-options.ts");
      const options = readProveOptions(folder, raw, {
        environment: process.env,
        stdoutIsTerminal: process.stdout.isTTY === true,
        defaultFolder: defaultProofFolder,
      });
      const { proveCommand } = await import("../prove.ts");
      leave(await proveCommand(options, streams));
    });
};
