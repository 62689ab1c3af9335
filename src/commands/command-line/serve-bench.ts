/** `serve-bench`: a simulated bench behind a pseudo-terminal. */
import type { RawServeOptions } from "../serve-bench.ts";
import { type AddCommand, defaultProofFolder, faultOption } from "./command-context.ts";

export const addServeBench: AddCommand = (program, { leave }) => {
  program
    .command("serve-bench [folder]")
    .description("serve a simulated bench on a pseudo-terminal, for prove --port")
    .option("--pace <n>", "emulated seconds per second", "1")
    .option("--seed <n>", "seed of the simulation", "1")
    .option("--powered <from>", "5 V of the controller: bus or separate", "bus")
    .option("--link <path>", "symbolic link to keep on the terminal")
    .option("--log <path>", "file for what the bench itself sees, one JSON object a line")
    .option("--modelled", "a model of the controller instead of its firmware")
    .option("--stop-with-input", "stop when standard input ends")
    .addOption(faultOption())
    .action(async (folder: string | undefined, raw: RawServeOptions) => {
      const { readServeOptions, serveBenchCommand } = await import("../serve-bench.ts");
      leave(await serveBenchCommand(readServeOptions(folder ?? defaultProofFolder, raw)));
    });
};
