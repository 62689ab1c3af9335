/** `check`: what the files of a proof mean, or what is wrong in them. */
import { type AddCommand, settledIo } from "./command-context.ts";

export const addCheck: AddCommand = (program, { leave }) => {
  program
    .command("check [paths...]")
    .description("check the files of a proof and say what they mean; energises nothing")
    .action(async (paths: string[]) => {
      const { checkCommand } = await import("../check.ts");
      leave(await checkCommand(paths, await settledIo()));
    });
};
