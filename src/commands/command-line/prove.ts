/** `prove`: the command when none is named. */
import { CONDUCT_HELP } from "../prove/conduct-options.ts";
import type { AskedProveOptions } from "../prove/prove-options.ts";
import {
  type AddCommand,
  addDetachOption,
  addRunOptions,
  askedOfProof,
} from "./command-context.ts";

export const addProve: AddCommand = (program, { streams, leave }) => {
  const command = program
    .command("prove [folder]", { isDefault: true })
    .description("prove one unit of a board (the command when none is named)");
  addDetachOption(addRunOptions(command))
    .option("--freeze [seconds]", CONDUCT_HELP.freeze)
    .option("--modelled", "a model of the controller instead of its firmware: quick, for studies")
    .option("--standby [minutes]", CONDUCT_HELP.standby)
    .action(async (folder: string | undefined, raw: AskedProveOptions) => {
      const options = await askedOfProof(folder, raw, "proof");
      const { proveCommand } = await import("../prove.ts");
      leave(await proveCommand(options, streams));
    });
};
