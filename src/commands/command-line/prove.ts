/** `prove`: the command when none is named. */
import { CONDUCT_HELP } from "../prove/conduct-options.ts";
import type { RawProveOptions } from "../prove/prove-options.ts";
import { type AddCommand, addRunOptions, defaultProofFolder } from "./command-context.ts";

export const addProve: AddCommand = (program, { streams, leave }) => {
  const command = program
    .command("prove [folder]", { isDefault: true })
    .description("prove one unit of a board (the command when none is named)");
  addRunOptions(command)
    .option("--freeze [seconds]", CONDUCT_HELP.freeze)
    .option("--standby [minutes]", CONDUCT_HELP.standby)
    .action(async (folder: string | undefined, raw: RawProveOptions) => {
      const { readProveOptions } = await import("../prove/prove-options.ts");
      const options = readProveOptions(folder, raw, {
        environment: process.env,
        stdoutIsTerminal: process.stdout.isTTY === true,
        defaultFolder: defaultProofFolder,
        mode: "proof",
      });
      const { proveCommand } = await import("../prove.ts");
      leave(await proveCommand(options, streams));
    });
};
