/** `write`: a file of a proof by question and answer. */
import type { RawWriteOptions } from "../write.ts";
import { type AddCommand, consoleIo } from "./command-context.ts";

const DATE_LENGTH = "2026-05-01".length;

export const addWrite: AddCommand = (program, { leave }) => {
  program
    .command("write <kind> [place]")
    .description("write a board, rig, sequence, circuit or unit file by question and answer")
    .option("--board <file>", "board file to ask about; else board.yaml beside the new file")
    .option("--rig <file>", "rig file a sequence is for; else rig.yaml beside the new file")
    .option("--overwrite", "put the new file in the place of one that is there")
    .addHelpText(
      "after",
      `
The place is a file that ends in .yaml, or a folder, which need not be there yet. From nothing to a
proof on the emulated bench: write board, rig, circuit and sequence into one folder, then check it
and prove it. Answers may come from a pipe, one a line. On a terminal what was answered is kept
beside the file until it is written, so that the same command goes on after Ctrl-C.`,
    )
    .action(async (kind: string, place: string | undefined, raw: RawWriteOptions) => {
      const { writeCommand } = await import("../write.ts");
      const { lineTalker } = await import("../write/line-talker.ts");
      const { createRealClock } = await import("../../clock/real-clock.ts");
      const talker = lineTalker(process);
      try {
        const today = createRealClock().wallTime().slice(0, DATE_LENGTH);
        const asked = { kind, place: place ?? null };
        leave(await writeCommand(asked, raw, { talker, error: consoleIo.error, today }));
      } finally {
        talker.close();
      }
    });
};
