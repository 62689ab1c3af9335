/** `generate`: a sequence that proves a board, from its stages. */
import type { RawGenerateOptions } from "../generate.ts";
import { type AddCommand, consoleIo } from "./command-context.ts";

export const addGenerate: AddCommand = (program, { leave }) => {
  program
    .command("generate <paths...>")
    .description(
      "write a sequence that shows every fault it can, from a board's stages; energises nothing",
    )
    .option("--seed <n>", "another seed may give other steps; the same gives the same", "1")
    .option("--steps <n>", "steps the test itself may have, holds and counts not among them", "500")
    .option("--out <file>", "write a new file instead of to standard output")
    .option("--json", "one JSON object: what is found, and the sequence or the vectors")
    .addHelpText(
      "after",
      `
The paths are a folder with board.yaml and, where there is one, rig.yaml; or these files; or one
netlist that ends in .bench, for which vectors are printed. The steps begin where the board's state
is not known, and each ends where it must in whatever order lines and stages move. What no steps can
show is said, and called untestable only where that is proved. Exit status 1: something was neither
shown nor proved untestable.`,
    )
    .action(async (paths: string[], raw: RawGenerateOptions) => {
      const { generateCommand } = await import("../generate.ts");
      leave(await generateCommand(paths, raw, consoleIo));
    });
};
