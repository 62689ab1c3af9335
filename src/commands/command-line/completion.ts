/** `completion`: what a shell needs to complete the commands. */
import { Argument } from "commander";
import type { Shell } from "../manual/completions.ts";
import type { AddCommand } from "./command-context.ts";

export const addCompletion: AddCommand = (program) => {
  program
    .command("completion")
    .description("print completions for a shell; its first lines say where they go")
    .addArgument(new Argument("<shell>", "which shell").choices(["bash", "zsh", "fish"]))
    .action(async (shell: Shell) => {
      const { programFacts } = await import("../manual/command-tree.ts");
      const { completionText } = await import("../manual/completions.ts");
      process.stdout.write(completionText(shell, programFacts(program)));
    });
};
