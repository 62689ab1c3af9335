/** `walk`: which lead is on which point, before any power. */
import type { AskedProveOptions } from "../prove/prove-options.ts";
import { type AddCommand, consoleIo, defaultProofFolder, faultOption } from "./command-context.ts";

export const addWalk: AddCommand = (program, { leave }) => {
  program
    .command("walk [folder]")
    .description("touch each point of the dead board in turn and be told which lead is on it")
    .option("--port <path>", "serial port of a real controller, by path or id")
    .addOption(faultOption())
    .action(async (folder: string | undefined, raw: AskedProveOptions) => {
      const { readProveOptions } = await import("../prove/prove-options.ts");
      const { withSettings } = await import("../settings/with-settings.ts");
      const options = readProveOptions(folder, withSettings(raw, {}), {
        environment: process.env,
        stdoutIsTerminal: process.stdout.isTTY === true,
        defaultFolder: defaultProofFolder,
        mode: "proof",
      });
      const { walkCommand } = await import("../walk.ts");
      leave(await walkCommand(options, consoleIo));
    });
};
