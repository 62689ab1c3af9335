/** `release`: a draft into a sealed record. */
import type { RawReleaseOptions } from "../release.ts";
import { type AddCommand, consoleIo, KEYS_HELP } from "./command-context.ts";

export const addRelease: AddCommand = (program, { leave }) => {
  program
    .command("release <run>")
    .description("give the draft of a run a number and seal it, as a folder to hand on")
    .option("--by <name>", "who releases it, as it is to stand in the record")
    .option("--corrects <record>", "released record that this one takes the place of; with --why")
    .option("--why <text>", "why it is corrected")
    .option("--key-name <name>", "key to seal with, where there are several")
    .option("--keys <dir>", KEYS_HELP)
    .action(async (path: string, raw: RawReleaseOptions) => {
      const { releaseCommand } = await import("../release.ts");
      leave(await releaseCommand(path, raw, consoleIo));
    });
};
