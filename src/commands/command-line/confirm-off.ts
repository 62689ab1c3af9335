/** `confirm-off`: a person's word that every rail of a rig was measured off. */
import { Option } from "commander";
import type { RawConfirmOptions } from "../confirm-off.ts";
import { type AddCommand, collect, RUNS_HELP } from "./command-context.ts";

export const addConfirmOff: AddCommand = (program, { leave }) => {
  program
    .command("confirm-off <rig>")
    .description("clear the block of a rig after its rails were measured by hand")
    .requiredOption("--by <initials>", "who measured")
    .addOption(
      new Option("--volts <rail=volts>", "what was measured, one for each rail, repeatable")
        .argParser(collect)
        .makeOptionMandatory(),
    )
    .option("--runs <dir>", `folder for journals and records; else ${RUNS_HELP}`)
    .action(async (rig: string, raw: Omit<RawConfirmOptions, "runs"> & { runs?: string }) => {
      const { confirmOffCommand } = await import("../confirm-off.ts");
      const { loadSettings } = await import("../settings/load-settings.ts");
      const { withSettings } = await import("../settings/with-settings.ts");
      const { settings } = await loadSettings();
      leave(confirmOffCommand(rig, withSettings(raw, settings)));
    });
};
