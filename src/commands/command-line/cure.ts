/** `cure`: where a repair of an intermittent stands. */
import type { AskedCure } from "../cure.ts";
import { type AddCommand, settledIo } from "./command-context.ts";

export const addCure: AddCommand = (program, { leave }) => {
  program
    .command("cure <before> <after...>")
    .description(
      "whether soaks after a repair show that it helped, or how many clean cycles are missing",
    )
    .option("--net <net>", "errors of this net alone")
    .option("--sure <percent>", "how sure to be that something has changed", "95")
    .option("--json", "one JSON object")
    .action(async (before: string, after: string[], asked: AskedCure) => {
      const { cureCommand } = await import("../cure.ts");
      leave(cureCommand(before, after, asked, await settledIo()));
    });
};
