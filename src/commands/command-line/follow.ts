/** `follow`: a second pair of eyes on a run that another program makes. */
import type { RawFollowOptions } from "../follow.ts";
import { type AddCommand, addTellingOptions } from "./command-context.ts";

export const addFollow: AddCommand = (program, { streams, leave }) => {
  const command = program
    .command("follow [run]")
    .description(
      "look on while another holdfast makes a run: its folder or journal, else the newest",
    )
    .option("--runs <dir>", "folder of runs, for the newest", "runs");
  addTellingOptions(command)
    .addHelpText("after", "\nLooks on only: nothing here reaches or stops the run.")
    .action(async (run: string | undefined, raw: RawFollowOptions) => {
      const { followCommand, readFollowOptions } = await import("../follow.ts");
      const options = readFollowOptions(run, raw, {
        environment: process.env,
        stdoutIsTerminal: process.stdout.isTTY === true,
      });
      leave(await followCommand(options, streams));
    });
};
