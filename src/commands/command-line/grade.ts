/** `grade`: what a sequence would notice. */
import type { RawGradeOptions } from "../grade.ts";
import { type AddCommand, defaultProofFolder, settledIo } from "./command-context.ts";

export const addGrade: AddCommand = (program, { leave }) => {
  program
    .command("grade [place]")
    .description(
      "say which faults a sequence would notice, part by part, and what nothing in it would; energises nothing",
    )
    .option("--vectors <file>", "vectors for a netlist that ends in .bench, a line each")
    .option("--all", "every fault, with the step that notices it first")
    .option("--picture <file>", "write a picture of nets and faults, SVG")
    .option("--json", "one JSON object")
    .action(async (place: string | undefined, raw: RawGradeOptions) => {
      const { gradeCommand } = await import("../grade.ts");
      leave(await gradeCommand(place ?? defaultProofFolder, raw, await settledIo()));
    });
};
