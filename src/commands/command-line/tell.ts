/** `tell`: an old run in text. */
import type { RawTellOptions } from "../tell.ts";
import { type AddCommand, settledIo } from "./command-context.ts";

export const addTell: AddCommand = (program, { leave }) => {
  program
    .command("tell <run>")
    .description("print the record of a run as a page; --paste as a block for asking others")
    .option("--paste", "72 columns of plain ASCII, nothing of this computer in it")
    .action(async (path: string, raw: RawTellOptions) => {
      const { tellCommand } = await import("../tell.ts");
      leave(tellCommand(path, raw, await settledIo()));
    });
};
