/** `walk`: which lead is on which point, before any power. */
import type { AskedProveOptions } from "../prove/prove-options.ts";
import { type AddCommand, askedOfProof, consoleIo, faultOption } from "./command-context.ts";

export const addWalk: AddCommand = (program, { leave }) => {
  program
    .command("walk [folder]")
    .description("touch each point of the dead board in turn and be told which lead is on it")
    .option("--port <path>", "serial port of a real controller, by path or id")
    .addOption(faultOption())
    .action(async (folder: string | undefined, raw: AskedProveOptions) => {
      const options = await askedOfProof(folder, raw, "proof");
      const { walkCommand } = await import("../walk.ts");
      leave(await walkCommand(options, consoleIo));
    });
};
