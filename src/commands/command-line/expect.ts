/** `expect`: what every net must do, by the model. */
import type { RawExpectOptions } from "../expect.ts";
import { type AddCommand, consoleIo, defaultProofFolder } from "./command-context.ts";

export const addExpect: AddCommand = (program, { leave }) => {
  program
    .command("expect [folder]")
    .description(
      "say what every net must do at every step, by the board's stages; energises nothing",
    )
    .option("--fill", "write the classes that the sequence leaves out into its file")
    .option("--out <file>", "write them into this new file instead")
    .option("--pulses", "name nets as well that may pulse on the way and end where they were")
    .option("--json", "one JSON object")
    .action(async (folder: string | undefined, raw: RawExpectOptions) => {
      const { expectCommand } = await import("../expect.ts");
      leave(await expectCommand(folder ?? defaultProofFolder, raw, consoleIo));
    });
};
