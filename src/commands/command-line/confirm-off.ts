/** `confirm-off`: a person's word that every rail of a rig was measured off. */
import { Option } from "commander";
import type { RawConfirmOptions } from "../confirm-off.ts";
import { type AddCommand, collect } from "./command-context.ts";

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
    .option("--runs <dir>", "folder for journals and records", "runs")
    .action(async (rig: string, raw: RawConfirmOptions) => {
      const { confirmOffCommand } = await import("../confirm-off.ts");
      leave(confirmOffCommand(rig, raw));
    });
};
