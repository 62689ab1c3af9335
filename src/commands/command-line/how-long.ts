/** `how-long`: what a soak must be to show what it is to show. */
import type { AskedHowLong } from "../how-long.ts";
import { type AddCommand, defaultProofFolder, settledIo } from "./command-context.ts";

export const addHowLong: AddCommand = (program, { leave }) => {
  program
    .command("how-long [folder]")
    .description("cycles and hours that a soak takes to see or to exclude an error rate")
    .option("--one-in <n>", "the error to be seen: one in so many cycles", "1000")
    .option("--sure <percent>", "chance to see it, or confidence to exclude it", "95")
    .option("--allowing <errors>", "errors with which it still counts as excluded", "0")
    .option("--json", "one JSON object")
    .action(async (folder: string | undefined, asked: AskedHowLong) => {
      const { howLongCommand } = await import("../how-long.ts");
      leave(await howLongCommand(folder ?? defaultProofFolder, asked, await settledIo()));
    });
};
