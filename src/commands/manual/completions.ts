/** Completions for three shells, written from the program's own facts. */
import type { CommandFacts, OptionFacts, ProgramFacts } from "./command-tree.ts";

const SHELLS = ["bash", "zsh", "fish"] as const;
export type Shell = (typeof SHELLS)[number];

export function completionText(shell: Shell, program: ProgramFacts): string {
  const lines = { bash: bashLines, zsh: zshLines, fish: fishLines }[shell](program);
  return `${lines.join("\n")}\n`;
}

/** Everything a person may type that begins with a dash. */
function flagsOf(options: readonly OptionFacts[]): string[] {
  return options.flatMap(({ short, long }) => (short === null ? [long] : [short, long]));
}

/** Whether files are what comes next: an argument, or a value that is no number. */
function takesPath(option: OptionFacts): boolean {
  return option.value !== null && /path|dir|file|folder/.test(option.value);
}

function bashLines(program: ProgramFacts): string[] {
  const { name, commands, options } = program;
  const words = commands.map((command) => command.name).join(" ");
  return [
    `# bash completion of ${name} ${program.version}; made by "${name} completion bash"`,
    `_${name}() {`,
    `  local word=\${COMP_WORDS[COMP_CWORD]} before=\${COMP_WORDS[COMP_CWORD-1]} command= i`,
    "  COMPREPLY=()",
    "  for ((i = 1; i < COMP_CWORD; i++)); do",
    `    case " ${words} " in *" \${COMP_WORDS[i]} "*) command=\${COMP_WORDS[i]}; break ;; esac`,
    "  done",
    '  case "$before" in',
    ...valueCases(commands),
    "  esac",
    "  if [[ $word == -* ]]; then",
    '    case "$command" in',
    ...commands.map(
      (command) =>
        `      ${command.name}) COMPREPLY=($(compgen -W "${flagsOf(command.options).join(" ")}" -- "$word")) ;;`,
    ),
    // Without a command it is a proof that is meant.
    `      *) COMPREPLY=($(compgen -W "${[...flagsOf(options), ...flagsOf(commands[0]?.options ?? [])].join(" ")}" -- "$word")) ;;`,
    "    esac",
    "  elif [[ -z $command ]]; then",
    `    COMPREPLY=($(compgen -W "${words}" -- "$word") $(compgen -f -- "$word"))`,
    "  else",
    '    COMPREPLY=($(compgen -f -- "$word"))',
    "  fi",
    "}",
    `complete -o filenames -F _${name} ${name}`,
  ];
}

function valueCases(commands: readonly CommandFacts[]): string[] {
  const options = commands.flatMap((command) => command.options);
  const named = (wanted: (option: OptionFacts) => boolean) =>
    [...new Set(options.filter(wanted).map(({ long }) => long))].sort();
  const paths = named(takesPath);
  const others = named((option) => option.value?.startsWith("<") === true && !takesPath(option));
  return [
    ...(paths.length === 0
      ? []
      : [`    ${paths.join("|")}) COMPREPLY=($(compgen -f -- "$word")); return ;;`]),
    ...(others.length === 0 ? [] : [`    ${others.join("|")}) return ;;`]),
  ];
}

function zshLines(program: ProgramFacts): string[] {
  const { name, commands } = program;
  return [
    `#compdef ${name}`,
    `# zsh completion of ${name} ${program.version}; made by "${name} completion zsh"`,
    `_${name}() {`,
    "  local -a commands",
    "  commands=(",
    ...commands.map((command) => `    ${quoted(`${command.name}:${command.about}`)}`),
    "  )",
    "  if (( CURRENT == 2 )) && [[ $words[2] != -* ]]; then",
    `    _describe command commands`,
    "    _files",
    "    return",
    "  fi",
    '  case "$words[2]" in',
    ...commands.flatMap((command) => [
      `    ${command.name})`,
      "      _arguments \\",
      ...command.options.map((option) => `        ${zshOption(option)} \\`),
      "        '*:file:_files'",
      "      ;;",
    ]),
    "    *)",
    "      _arguments \\",
    ...(commands[0]?.options ?? []).map((option) => `        ${zshOption(option)} \\`),
    "        '*:file:_files'",
    "      ;;",
    "  esac",
    "}",
    `_${name} "$@"`,
  ];
}

function zshOption(option: OptionFacts): string {
  const about = option.about.replace(/[[\]:]/g, " ");
  const value = option.value === null ? "" : `:value:${takesPath(option) ? "_files" : " "}`;
  return quoted(`${option.long}[${about}]${value}`);
}

function fishLines(program: ProgramFacts): string[] {
  const { name, commands } = program;
  const words = commands.map((command) => command.name).join(" ");
  return [
    `# fish completion of ${name} ${program.version}; made by "${name} completion fish"`,
    ...commands.map(
      (command) =>
        `complete -c ${name} -n "not __fish_seen_subcommand_from ${words}" -a ${command.name} -d ${quoted(command.about)}`,
    ),
    ...commands.flatMap((command) =>
      command.options.map((option) => {
        const short = option.short === null ? "" : ` -s ${option.short.slice(1)}`;
        const value = option.value === null ? "" : takesPath(option) ? " -r" : " -x";
        return `complete -c ${name} -n "__fish_seen_subcommand_from ${command.name}" -l ${option.long.slice(2)}${short}${value} -d ${quoted(option.about)}`;
      }),
    ),
  ];
}

/** A word for a POSIX shell, whatever it holds. */
function quoted(text: string): string {
  return `'${text.replaceAll("'", "'\\''")}'`;
}
