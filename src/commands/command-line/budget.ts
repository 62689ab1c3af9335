/** `budget`: what the readings of a proof will be uncertain by. */
import type { AskedBudget } from "../budget.ts";
import { type AddCommand, consoleIo, defaultProofFolder } from "./command-context.ts";

export const addBudget: AddCommand = (program, { leave }) => {
  program
    .command("budget")
    .description("print what each net's readings will be uncertain by, and why; energises nothing")
    .argument("[folder]", "folder with board.yaml, rig.yaml and sequence.yaml", defaultProofFolder)
    .option("--channel <name>", "one net only")
    .option("--json", "one JSON object a net and class")
    .action(async (folder: string, asked: AskedBudget) => {
      const { budgetCommand } = await import("../budget.ts");
      leave(await budgetCommand(folder, asked, consoleIo));
    });
};
