/** `identify`: who answers at a port. */

import type { AskedProveOptions } from "../prove/prove-options.ts";
import { type AddCommand, askedOfProof, consoleIo } from "./command-context.ts";

interface Asked extends AskedProveOptions {
  readonly keep?: boolean;
  readonly forget?: boolean;
}

export const addIdentify: AddCommand = (program, { leave }) => {
  program
    .command("identify [folder]")
    .description(
      "say who answers at a port, and whether firmware and rig match; switches nothing on",
    )
    .option("--port <path>", "serial port of a real controller, by path or id")
    .option("--keep", "write the name of the folder's rig into the controller")
    .option("--forget", "erase the rig that the controller keeps")
    .option("--json", "one JSON object")
    .action(async (folder: string | undefined, raw: Asked) => {
      const { UsageError } = await import("../usage-error.ts");
      if (raw.keep === true && raw.forget === true) {
        throw new UsageError("Expected --keep or --forget, got both.");
      }
      const { keep, forget, json, ...asked } = raw;
      const prove = await askedOfProof(folder, asked, "proof");
      const { identifyCommand } = await import("../identify.ts");
      const rig = keep === true ? "keep" : forget === true ? "forget" : "leave";
      leave(await identifyCommand({ prove, rig, json: json === true }, consoleIo));
    });
};
