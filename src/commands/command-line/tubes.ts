/** `tubes`: the tube book. */
import { type AddCommand, RUNS_HELP, settledIo } from "./command-context.ts";

interface RawTubesOptions {
  readonly runs?: string;
  readonly json?: boolean;
  readonly ascii?: boolean;
}

export const addTubes: AddCommand = (program, { leave }) => {
  program
    .command("tubes [serial]")
    .description("the tube book: where each tube was, its hours, how it reads, which looks weak")
    .option("--json", "one JSON object")
    .option("--ascii", "draw with plain ASCII only")
    .option("--runs <dir>", `folder for journals and records; else ${RUNS_HELP}`)
    .action(async (serial: string | undefined, raw: RawTubesOptions) => {
      const { tubesCommand } = await import("../tubes.ts");
      const { loadSettings } = await import("../settings/load-settings.ts");
      const { withSettings } = await import("../settings/with-settings.ts");
      const { localeIsUtf8 } = await import("../../screen/glyphs.ts");
      const { runs, json, ascii } = withSettings(raw, (await loadSettings()).settings);
      const options = {
        runs,
        json: json === true,
        ascii: ascii ?? !localeIsUtf8(process.env),
      };
      leave(await tubesCommand(serial ?? null, options, await settledIo()));
    });
};
