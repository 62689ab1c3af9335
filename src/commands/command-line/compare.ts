/** `compare`: what changed on a unit. */
import { type AddCommand, RUNS_HELP, settledIo } from "./command-context.ts";

interface RawCompareOptions {
  readonly runs?: string;
  readonly with?: string;
  readonly json?: boolean;
}

export const addCompare: AddCommand = (program, { leave }) => {
  program
    .command("compare <unit-or-run>")
    .description("hold a unit against its baseline, the run before and its sister boards")
    .option("--with <run>", "another run to hold it against")
    .option("--json", "one JSON object")
    .option("--runs <dir>", `folder for journals and records; else ${RUNS_HELP}`)
    .addHelpText(
      "after",
      "\nThe baseline is a run marked by holdfast note RUN --baseline, else the unit's first pass.",
    )
    .action(async (name: string, raw: RawCompareOptions) => {
      const { compareCommand } = await import("../compare.ts");
      const { loadSettings } = await import("../settings/load-settings.ts");
      const { withSettings } = await import("../settings/with-settings.ts");
      const { runs } = withSettings(raw, (await loadSettings()).settings);
      const options = { runs, with: raw.with ?? null, json: raw.json === true };
      leave(await compareCommand(name, options, await settledIo()));
    });
};
