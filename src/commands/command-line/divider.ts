/** `divider`: resistors for a channel. */
import type { AskedDivider } from "../divider.ts";
import { type AddCommand, consoleIo } from "./command-context.ts";

export const addDivider: AddCommand = (program, { leave }) => {
  program
    .command("divider")
    .description("work out resistors for a channel from what its node does; energises nothing")
    .requiredOption("--low <volts>", "low level of the node, signed")
    .requiredOption("--high <volts>", "high level of the node, signed")
    .requiredOption("--low-ohm <ohms>", "source resistance of the node at its low level")
    .requiredOption("--high-ohm <ohms>", "source resistance at its high level, as a plate load")
    .option("--loading <percent>", "how far the divider may move the node, of its swing", "5")
    .option("--fault <volts>", "most the node may ever meet; else half as much again as its levels")
    .option("--reference <volts>", "of the converter", "5")
    .option("--series <name>", "IEC 60063 series of the resistors", "E24")
    .option("--capacitor <nF>", "at the pin", "33")
    .option("--json", "one JSON object")
    .action(async (asked: AskedDivider) => {
      const { dividerCommand } = await import("../divider.ts");
      leave(dividerCommand(asked, consoleIo));
    });
};
