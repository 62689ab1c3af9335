/** `history`: units and runs that were kept. */
import { type Command, InvalidArgumentError } from "commander";
import { type AddCommand, RUNS_HELP, settledIo } from "./command-context.ts";

interface RawHistoryOptions {
  readonly runs?: string;
  readonly last: number;
  readonly net?: string;
  readonly svg?: string;
  readonly json?: boolean;
  readonly ascii?: boolean;
}

const LAST_USUAL = 20;

export const addHistory: AddCommand = (program, { leave }) => {
  const command: Command = program
    .command("history [unit]")
    .description("list units that were on the bench, or one unit's runs and how its levels went")
    .option("--last <n>", `runs listed, newest first; else ${LAST_USUAL}`, count, LAST_USUAL)
    .option("--net <name>", "levels of one net only")
    .option("--svg <file>", "draw the levels over time into a file")
    .option("--json", "one JSON object a unit, run and level")
    .option("--ascii", "draw with plain ASCII only")
    .option("--runs <dir>", `folder for journals and records; else ${RUNS_HELP}`);
  command.action(async (unit: string | undefined, raw: RawHistoryOptions) => {
    const { historyCommand } = await import("../history.ts");
    const { loadSettings } = await import("../settings/load-settings.ts");
    const { withSettings } = await import("../settings/with-settings.ts");
    const { localeIsUtf8 } = await import("../../screen/glyphs.ts");
    const { runs, last, net, svg, json, ascii } = withSettings(
      raw,
      (await loadSettings()).settings,
    );
    const options = {
      runs,
      last,
      net: net ?? null,
      svg: svg ?? null,
      json: json === true,
      ascii: ascii ?? !localeIsUtf8(process.env),
    };
    leave(await historyCommand(unit ?? null, options, await settledIo()));
  });
};

function count(text: string): number {
  const value = Number(text);
  if (Number.isSafeInteger(value) && value > 0) return value;
  throw new InvalidArgumentError("Expected a whole number of runs, 1 or more.");
}
