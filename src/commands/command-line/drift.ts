/** `drift`: whether a section lost emission over a soak, and what the soak could have seen. */
import type { AskedDrift } from "../drift.ts";
import { type AddCommand, settledIo } from "./command-context.ts";

export const addDrift: AddCommand = (program, { leave }) => {
  program
    .command("drift <run> [earlier...]")
    .description(
      "which section lost emission over a soak, if any, and the smallest drift it could have seen; earlier soaks of the unit, oldest first, make it keener",
    )
    .option("--json", "one JSON object")
    .action(async (run: string, earlier: string[], asked: AskedDrift) => {
      const { driftCommand } = await import("../drift.ts");
      leave(driftCommand(run, earlier, asked, await settledIo()));
    });
};
