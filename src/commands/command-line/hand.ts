/** `hand`: the lines of a powered, warm board in a person's hand. */
import { CONDUCT_HELP } from "../prove/conduct-options.ts";
import type { RawProveOptions } from "../prove/prove-options.ts";
import { TYPED_WORDS } from "../prove/typed-words.ts";
import { type AddCommand, addRunOptions, defaultProofFolder } from "./command-context.ts";

export const addHand: AddCommand = (program, { streams, leave }) => {
  const command = program
    .command("hand [folder]")
    .description("power and warm a board as for a proof, then move its lines yourself");
  addRunOptions(command)
    .option("--minutes <n>", CONDUCT_HELP.minutes)
    .addHelpText(
      "after",
      `\nNothing is judged. Without a screen, lines on standard input say what to do:\n${TYPED_WORDS}.`,
    )
    .action(async (folder: string | undefined, raw: RawProveOptions) => {
      const { readProveOptions } = await import("../prove/prove-options.ts");
      const options = readProveOptions(folder, raw, {
        environment: process.env,
        stdoutIsTerminal: process.stdout.isTTY === true,
        defaultFolder: defaultProofFolder,
        mode: "hand",
      });
      const { proveCommand } = await import("../prove.ts");
      leave(await proveCommand(options, streams));
    });
};
