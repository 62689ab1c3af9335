/** `verify`: whether a record is as it was sealed. */
import type { RawVerifyOptions } from "../verify.ts";
import { type AddCommand, consoleIo, KEYS_HELP } from "./command-context.ts";

export const addVerify: AddCommand = (program, { leave }) => {
  program
    .command("verify <record>")
    .description("say whether a released record is as it was sealed, and what was changed if not")
    .option("--key <pem>", "public key that must have sealed it")
    .option("--keys <dir>", KEYS_HELP)
    .action(async (path: string, raw: RawVerifyOptions) => {
      const { verifyCommand } = await import("../verify.ts");
      leave(await verifyCommand(path, raw, consoleIo));
    });
};
