/** `soak`: one board cycled for hours. */
import type { AskedProveOptions } from "../prove/prove-options.ts";
import { SOAK_HELP } from "../prove/soak-options.ts";
import {
  type AddCommand,
  addDetachOption,
  addRunOptions,
  askedOfProof,
} from "./command-context.ts";

export const addSoak: AddCommand = (program, { streams, leave }) => {
  const command = program
    .command("soak [folder]")
    .description(
      "cycle one unit of a board for hours: errors kept whole, drift seen, hours counted",
    );
  addDetachOption(addRunOptions(command))
    .option("--hours <n>", SOAK_HELP.hours)
    .option("--cycles <n>", SOAK_HELP.cycles)
    .option("--errors <n>", SOAK_HELP.errors)
    .option("--every <ms>", SOAK_HELP.every)
    .option("--go-on-after <what>", SOAK_HELP.goOnAfter)
    .option("--go-on [run]", SOAK_HELP.goOn)
    .option("--unattended", SOAK_HELP.unattended)
    .option("--night [scenario]", SOAK_HELP.night)
    .option("--modelled", "a model of the controller instead of its firmware: quick, for studies")
    .action(async (folder: string | undefined, raw: AskedProveOptions) => {
      const options = await askedOfProof(folder, raw, "soak");
      const { proveCommand } = await import("../prove.ts");
      leave(await proveCommand(options, streams));
    });
};
