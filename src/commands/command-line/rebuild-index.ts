/** `rebuild-index`: the index of runs from the files again. */
import { type AddCommand, consoleIo, RUNS_HELP } from "./command-context.ts";

export const addRebuildIndex: AddCommand = (program, { leave }) => {
  program
    .command("rebuild-index")
    .description("make the index of runs again from journals, records, rig checks and notes")
    .option("--runs <dir>", `folder for journals and records; else ${RUNS_HELP}`)
    .action(async (raw: { readonly runs?: string }) => {
      const { rebuildIndexCommand } = await import("../rebuild-index.ts");
      const { loadSettings } = await import("../settings/load-settings.ts");
      const { withSettings } = await import("../settings/with-settings.ts");
      const { runs } = withSettings(raw, (await loadSettings()).settings);
      leave(await rebuildIndexCommand(runs, consoleIo));
    });
};
