/** `settings`: where they lie and what is in force. */
import { type AddCommand, consoleIo } from "./command-context.ts";

export const addSettings: AddCommand = (program, { leave }) => {
  program
    .command("settings")
    .description("say where your settings lie and what is in force")
    .action(async () => {
      const { settingsCommand } = await import("../settings/settings-command.ts");
      leave(await settingsCommand(consoleIo));
    });
};
