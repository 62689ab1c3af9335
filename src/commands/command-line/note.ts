/** `note`: what no run can show. */
import type { AskedNote } from "../note.ts";
import { type AddCommand, RUNS_HELP, settledIo } from "./command-context.ts";

export const addNote: AddCommand = (program, { leave }) => {
  program
    .command("note <tube-or-run>")
    .description("write down what no run can show: a tube removed or retested, a run as baseline")
    .option("--removed <why>", "the tube was taken out")
    .option("--retest <what>", "what a tester, or another socket, showed")
    .option("--found <good|weak>", "what the retest says of the tube")
    .option("--note <text>", "anything else")
    .option("--unit <serial>", "unit it was taken out of, or put into")
    .option("--position <socket>", "socket of that unit")
    .option("--baseline", "hold the unit of this run against it from now on")
    .option("--runs <dir>", `folder for journals and records; else ${RUNS_HELP}`)
    .action(async (subject: string, raw: AskedNote & { readonly runs?: string }) => {
      const { noteCommand } = await import("../note.ts");
      const { loadSettings } = await import("../settings/load-settings.ts");
      const { withSettings } = await import("../settings/with-settings.ts");
      const { settings } = await loadSettings();
      const { createRealClock } = await import("../../clock/real-clock.ts");
      const surroundings = {
        runs: withSettings(raw, settings).runs,
        date: createRealClock().wallTime().slice(0, 10),
        initials: settings.initials ?? null,
      };
      leave(await noteCommand(subject, raw, surroundings, await settledIo()));
    });
};
