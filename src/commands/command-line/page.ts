/** `page`: an old run to look at and to print. */
import type { RawPageOptions } from "../page.ts";
import { type AddCommand, settledIo } from "./command-context.ts";

export const addPage: AddCommand = (program, { leave }) => {
  program
    .command("page <run>")
    .description("make the page of a run anew: one HTML file to look at and to print")
    .option("--to <file>", "write it there instead of record.html beside the journal")
    .action(async (path: string, raw: RawPageOptions) => {
      const { pageCommand } = await import("../page.ts");
      leave(pageCommand(path, raw, await settledIo()));
    });
};
