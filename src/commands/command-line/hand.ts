/** `hand`: the lines of a powered, warm board in a person's hand. */
import { fstatSync } from "node:fs";
import { CONDUCT_HELP } from "../prove/conduct-options.ts";
import type { AskedProveOptions } from "../prove/prove-options.ts";
import { TYPED_WORDS } from "../prove/typed-words.ts";
import { UsageError } from "../usage-error.ts";
import {
  type AddCommand,
  addDetachOption,
  addRunOptions,
  askedOfProof,
} from "./command-context.ts";

const NO_HANDS =
  "Expected a keyboard for hand mode, or lines on standard input, got neither: standard input is a device that gives nothing. Nothing was energised.";

/** A terminal, a pipe or a file can say what to do; the null device, as under a timer, cannot. */
function canBeTyped(): boolean {
  return process.stdin.isTTY === true || !fstatSync(0).isCharacterDevice();
}

export const addHand: AddCommand = (program, { streams, leave }) => {
  const command = program
    .command("hand [folder]")
    .description("power and warm a board as for a proof, then move its lines yourself");
  addDetachOption(addRunOptions(command))
    .option("--minutes <n>", CONDUCT_HELP.minutes)
    .addHelpText(
      "after",
      `\nNothing is judged. Without a screen, lines on standard input say what to do:\n${TYPED_WORDS}.`,
    )
    .action(async (folder: string | undefined, raw: AskedProveOptions) => {
      if (raw.detach !== true && !canBeTyped()) throw new UsageError(NO_HANDS);
      const options = await askedOfProof(folder, raw, "hand");
      const { proveCommand } = await import("../prove.ts");
      leave(await proveCommand(options, streams));
    });
};
