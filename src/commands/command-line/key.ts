/** `key`: the keys that records are sealed with. */
import type { RawKeyOptions } from "../key.ts";
import { type AddCommand, consoleIo, KEYS_HELP } from "./command-context.ts";

export const addKey: AddCommand = (program, { leave }) => {
  program
    .command("key <what> [name] [file]")
    .description("keys that seal records: make NAME, list, show NAME, accept NAME FILE of another")
    .option("--keys <dir>", KEYS_HELP)
    .action(
      async (
        what: string,
        name: string | undefined,
        file: string | undefined,
        raw: RawKeyOptions,
      ) => {
        const { keyCommand } = await import("../key.ts");
        leave(await keyCommand({ what, name, file }, raw, consoleIo));
      },
    );
};
