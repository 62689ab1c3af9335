/** `follow`: a second pair of eyes on a run that another program makes. */
import type { AskedFollowOptions } from "../follow.ts";
import { type AddCommand, addTellingOptions, RUNS_HELP } from "./command-context.ts";

export const addFollow: AddCommand = (program, { streams, leave }) => {
  const command = program
    .command("follow [run]")
    .description(
      "look on while another holdfast makes a run: its folder or journal, else the newest",
    )
    .option("--runs <dir>", `folder of runs, for the newest; else ${RUNS_HELP}`);
  addTellingOptions(command)
    .addHelpText("after", "\nLooks on only: nothing here reaches or stops the run.")
    .action(async (run: string | undefined, raw: AskedFollowOptions) => {
      const { followCommand, readFollowOptions } = await import("../follow.ts");
      const { loadSettings } = await import("../settings/load-settings.ts");
      const { withSettings } = await import("../settings/with-settings.ts");
      const { settings } = await loadSettings();
      const options = readFollowOptions(run, withSettings(raw, settings), {
        environment: process.env,
        stdoutIsTerminal: process.stdout.isTTY === true,
      });
      leave(await followCommand(options, streams));
    });
};
