/** `ports`: finding the controller. */
import { type AddCommand, consoleIo } from "./command-context.ts";

export const addPorts: AddCommand = (program, { leave }) => {
  program
    .command("ports")
    .description("list serial ports by names that last; opens none")
    .action(async () => {
      const { portsCommand } = await import("../ports.ts");
      leave(await portsCommand(consoleIo));
    });
};
