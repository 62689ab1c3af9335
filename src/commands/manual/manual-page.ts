/** The manual page, section 1, in the man macros that every troff knows. */
import { EXIT_STATUS_HELP } from "../exit-status.ts";
import type { OptionFacts, ProgramFacts } from "./command-tree.ts";

const FILES: readonly (readonly [string, string])[] = [
  ["board.yaml, rig.yaml, sequence.yaml", "a proof: the board, the bench, the steps"],
  ["unit.yaml", "one physical board: its tubes and its cold checks"],
  ["runs/NAME/journal.ndjson", "everything that happened in a run, chained by hash"],
  ["runs/NAME/record.txt, record.json", "what the run showed and what it did not"],
  ["runs/NAME/released-1", "what was released of it: sealed, and to be handed on as a whole"],
];

const CAUTION =
  "Live rails, stored charge, hot glass: measure before you touch, fuse every supply, have an off switch " +
  "that needs no computer, and do not leave an energised bench alone. The program switches what it can " +
  "prove off; it replaces neither local codes nor licensed practice.";

export function manualPage(program: ProgramFacts): string {
  const { name, about, commands, options, version } = program;
  const lines = [
    `.TH ${name.toUpperCase()} 1 "" "${name} ${version}" "User commands"`,
    ".SH NAME",
    `${name} \\- prove hand\\-built logic boards`,
    ".SH SYNOPSIS",
    `.B ${name}`,
    "[command] [options]",
    ".SH DESCRIPTION",
    escaped(about),
    "Without a command a proof is made.",
    ".SH CAUTIONS",
    escaped(CAUTION),
    ".SH COMMANDS",
    ...commands.flatMap((command) => [
      `.SS ${name} ${command.name} ${escaped(command.args.join(" "))}`.trimEnd(),
      `${escaped(sentence(command.about))}`,
      ...optionLines(command.options.filter(({ long }) => long !== "--help")),
    ]),
    ".SH OPTIONS",
    ...optionLines(options),
    ".SH EXIT STATUS",
    ...exitLines(),
    ".SH FILES",
    ...FILES.flatMap(([file, what]) => [".TP", `.I ${escaped(file)}`, escaped(what)]),
  ];
  return `${lines.join("\n")}\n`;
}

function optionLines(options: readonly OptionFacts[]): string[] {
  return options.flatMap(({ short, long, value, about }) => {
    const flags = [short, long].filter((one) => one !== null).map((one) => escaped(one ?? ""));
    const shown = value === null ? "" : ` \\fI${escaped(value)}\\fR`;
    return [".TP", `\\fB${flags.join("\\fR, \\fB")}\\fR${shown}`, escaped(about)];
  });
}

/** The same lines as in the help. */
function exitLines(): string[] {
  return EXIT_STATUS_HELP.split("\n").flatMap((line) => {
    const [, status, meaning] = /^\s+(\d)\s+(.*)$/.exec(line) ?? [];
    return status === undefined ? [] : [".TP", `.B ${status}`, escaped(meaning ?? "")];
  });
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}

/** Text that troff takes as text: no escapes, no request at the beginning of a line. */
function escaped(text: string): string {
  return text
    .replaceAll("\\", "\\e")
    .replaceAll("-", "\\-")
    .replace(/^([.'])/, "\\&$1");
}
