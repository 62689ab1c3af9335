/** `draw`: pictures of what files mean. */
import type { RawDrawOptions } from "../draw.ts";
import { type AddCommand, consoleIo, defaultProofFolder } from "./command-context.ts";

export const addDraw: AddCommand = (program, { leave }) => {
  program
    .command("draw [paths...]")
    .description("draw board, rig and sequence as they were read; energises nothing")
    .option("--svg <file>", "write one SVG instead of text")
    .option("--wiring", "what it takes to wire the rig: parts, or with --svg the circuit")
    .option("--csv", "with --wiring: the parts as comma-separated values")
    .option("--ascii", "draw with plain ASCII only")
    .action(async (paths: string[], raw: RawDrawOptions) => {
      const { drawCommand } = await import("../draw.ts");
      leave(await drawCommand(paths.length > 0 ? paths : [defaultProofFolder], raw, consoleIo));
    });
};
