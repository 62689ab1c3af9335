/** `attach`: back at a run that another process makes, with its keys. */
import { readlinkSync } from "node:fs";
import type { AskedFollowOptions, RawFollowOptions } from "../follow.ts";
import { TYPED_WORDS } from "../prove/typed-words.ts";
import { type AddCommand, addTellingOptions, RUNS_HELP } from "./command-context.ts";

/** The terminal a person sits at, such as pts/3; empty where it cannot be told. */
function terminalName(): string {
  try {
    const path = readlinkSync("/proc/self/fd/0");
    return path.startsWith("/dev/") && path !== "/dev/null" ? path.slice("/dev/".length) : "";
  } catch {
    return "";
  }
}

export const addAttach: AddCommand = (program, { streams, leave }) => {
  const command = program
    .command("attach [run]")
    .description(
      "come back to a run that goes on elsewhere, with its keys: its folder or journal, else the only one",
    )
    .option("--runs <dir>", `folder of runs, to find it in; else ${RUNS_HELP}`);
  addTellingOptions(command)
    .addHelpText(
      "after",
      `\nThe key x leaves and the run goes on; s stops the run. Without a screen, lines on standard input say\nwhat to do: ${TYPED_WORDS}, leave.`,
    )
    .action(async (run: string | undefined, raw: AskedFollowOptions) => {
      const { attachCommand } = await import("../attach.ts");
      const { folderToAttach } = await import("../run-to-attach.ts");
      const { readTellingOptions } = await import("../prove/telling-options.ts");
      const { loadSettings } = await import("../settings/load-settings.ts");
      const { withSettings } = await import("../settings/with-settings.ts");
      const { settings } = await loadSettings();
      const filled: RawFollowOptions = withSettings(raw, settings);
      const options = readTellingOptions(filled, {
        environment: process.env,
        stdoutIsTerminal: process.stdout.isTTY === true,
      });
      const { env: environment } = process;
      const folder = await folderToAttach(run, filled.runs, environment);
      leave(
        await attachCommand({ ...options, folder, environment, from: terminalName() }, streams),
      );
    });
};
