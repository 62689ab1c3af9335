/** The program's commands and options as data: the one source of completions and manual page. */
import type { Argument, Command, Option } from "commander";

export interface OptionFacts {
  readonly short: string | null;
  readonly long: string;
  /** What stands for its value, such as `<path>` or `[seconds]`; null for a switch. */
  readonly value: string | null;
  readonly about: string;
}

export interface CommandFacts {
  readonly name: string;
  readonly about: string;
  /** Arguments as the help writes them, such as `[folder]`. */
  readonly args: readonly string[];
  readonly options: readonly OptionFacts[];
}

export interface ProgramFacts {
  readonly name: string;
  readonly about: string;
  readonly version: string;
  readonly options: readonly OptionFacts[];
  readonly commands: readonly CommandFacts[];
}

export function programFacts(program: Command): ProgramFacts {
  return {
    name: program.name(),
    about: program.description(),
    version: program.version() ?? "",
    options: [...program.options.map(optionFacts), HELP],
    commands: program.commands.map((command) => ({
      name: command.name(),
      about: command.description(),
      args: command.registeredArguments.map(argumentText),
      options: [...command.options.map(optionFacts), HELP],
    })),
  };
}

const HELP: OptionFacts = { short: "-h", long: "--help", value: null, about: "print this help" };

function optionFacts({ short, long, flags, description }: Option): OptionFacts {
  const value = /(<[^>]+>|\[[^\]]+\])$/.exec(flags)?.[1] ?? null;
  return { short: short ?? null, long: long ?? flags, value, about: description };
}

function argumentText(argument: Argument): string {
  const name = `${argument.name()}${argument.variadic ? "..." : ""}`;
  return argument.required ? `<${name}>` : `[${name}]`;
}
