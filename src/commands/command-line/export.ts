/** `export`: what was read, for other programs. */
import type { RawExportOptions } from "../export.ts";
import { type AddCommand, settledIo } from "./command-context.ts";

export const addExport: AddCommand = (program, { leave }) => {
  program
    .command("export <run>")
    .description("write what a run read for other programs; its journal is NDJSON already")
    .option("--csv <file>", "every reading, one row each (RFC 4180)")
    .option("--vcd <file>", "lines, nets, rails and volts over time (IEEE 1364 value change dump)")
    .action(async (path: string, raw: RawExportOptions) => {
      const { exportCommand } = await import("../export.ts");
      leave(exportCommand(path, raw, await settledIo()));
    });
};
