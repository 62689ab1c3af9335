/** `replay`: an old run shown again. */
import { type AddCommand, consoleIo } from "./command-context.ts";

export const addReplay: AddCommand = (program, { leave }) => {
  program
    .command("replay <journal>")
    .description("fold a journal again: the same lines, verdict and exit status")
    .action(async (path: string) => {
      const { replayCommand } = await import("../replay.ts");
      leave(replayCommand(path, consoleIo));
    });
};
