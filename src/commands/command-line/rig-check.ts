/** `rig-check`: whether the rig is fit to judge. */
import type { AskedProveOptions } from "../prove/prove-options.ts";
import { type AddCommand, addRunOptions, askedOfProof } from "./command-context.ts";

export const addRigCheck: AddCommand = (program, { streams, leave }) => {
  addRunOptions(
    program
      .command("rig-check [folder]")
      .description(
        "with the board unplugged operate every relay and read every channel: is the rig fit to judge?",
      )
      .option("--quick", "board in place, nothing switched: only what channels do by themselves")
      .option("--modelled", "a modelled controller instead of the emulated one"),
  ).action(async (folder: string | undefined, raw: AskedProveOptions) => {
    const options = await askedOfProof(folder, raw, "rig check");
    const { proveCommand } = await import("../prove.ts");
    leave(await proveCommand(options, streams));
  });
};
