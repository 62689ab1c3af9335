/**
 * Makes what both sides of the wire know about errors from one file, errors.csv: the C header of
 * the firmware, the table of the host and the table in PROTOCOL.md.
 *
 * Run by `node --import tsx firmware-protocol/generate-errors.ts`; a test holds the three current.
 */
import { readFileSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

/** One row of errors.csv. Numbers are never reused; a retired one stays in the file. */
export interface ErrorRow {
  readonly number: number;
  readonly text: string;
  readonly cause: string;
  readonly remedy: string;
}

const rowPattern = /^(-?\d+),"([^"]*)","([^"]*)","([^"]*)"$/;

/**
 * Rows of errors.csv in file order.
 *
 * @throws Error naming the line when a row is malformed, incomplete or repeats a number
 */
export function parseErrors(csv: string): ErrorRow[] {
  const [head, ...lines] = csv.trimEnd().split("\n");
  if (head !== "number,text,cause,remedy") {
    throw new Error(`errors.csv:1: expected "number,text,cause,remedy", got "${head}"`);
  }
  const seen = new Set<number>();
  return lines.map((line, index) => {
    const [, number, text, cause, remedy] = rowPattern.exec(line) ?? [];
    const value = Number(number);
    if (!text || !cause || !remedy || seen.has(value)) {
      throw new Error(
        `errors.csv:${index + 2}: expected a new number and three texts, got "${line}"`,
      );
    }
    seen.add(value);
    return { number: value, text, cause, remedy };
  });
}

function constantName(text: string): string {
  return `ERROR_${text.toUpperCase().replaceAll(/[^A-Z0-9]+/g, "_")}`;
}

/** The header that firmware/core/errors.h includes. */
export function cHeader(rows: readonly ErrorRow[]): string {
  const entries = rows.map(
    (row) => `    X(${constantName(row.text)}, ${row.number}, "${row.text}")`,
  );
  return [
    "/* Made from errors.csv by generate-errors.ts; change it there. */",
    "#ifndef HOLDFAST_ERRORS_GEN_H",
    "#define HOLDFAST_ERRORS_GEN_H",
    "",
    "/* X(name, number, text) for every error of the wire. */",
    "#define ERROR_LIST(X) \\",
    entries.join(" \\\n"),
    "",
    "#endif",
    "",
  ].join("\n");
}

/** The table the controller client uses to explain a refusal. */
export function hostTable(rows: readonly ErrorRow[]): string {
  const entries = rows.flatMap((row) => [
    "  {",
    `    number: ${row.number},`,
    `    text: ${JSON.stringify(row.text)},`,
    ...property("cause", row.cause),
    ...property("remedy", row.remedy),
    "  },",
  ]);
  return [
    "/** Made from firmware-protocol/errors.csv by generate-errors.ts; change it there. */",
    "",
    "/** An error number of the wire, what brings it about and what to do. */",
    "export interface WireError {",
    "  readonly number: number;",
    "  readonly text: string;",
    "  readonly cause: string;",
    "  readonly remedy: string;",
    "}",
    "",
    "export const wireErrors: readonly WireError[] = [",
    ...entries,
    "];",
    "",
  ].join("\n");
}

/** One property in the layout the formatter gives it: on two lines beyond 100 columns. */
function property(name: string, value: string): string[] {
  const line = `    ${name}: ${JSON.stringify(value)},`;
  return line.length <= 100 ? [line] : [`    ${name}:`, `      ${JSON.stringify(value)},`];
}

const tableBegin = "<!-- errors.csv begin -->";
const tableEnd = "<!-- errors.csv end -->";

/**
 * PROTOCOL.md with its error table made anew.
 *
 * @throws Error when the two marks that enclose the table are not both there
 */
export function withErrorTable(protocol: string, rows: readonly ErrorRow[]): string {
  const begin = protocol.indexOf(tableBegin);
  const end = protocol.indexOf(tableEnd);
  if (begin < 0 || end < begin) {
    throw new Error(`PROTOCOL.md: expected "${tableBegin}" and then "${tableEnd}"`);
  }
  const lines = rows.map(
    (row) => `- **${row.number} ${row.text}.** ${row.cause} What to do: ${row.remedy}`,
  );
  return `${protocol.slice(0, begin)}${tableBegin}\n\n${lines.join("\n")}\n\n${protocol.slice(end)}`;
}

/** Paths of the source and of what is made from it, relative to this file. */
export const errorFiles = {
  csv: new URL("errors.csv", import.meta.url),
  header: new URL("firmware/core/errors.gen.h", import.meta.url),
  host: new URL("../src/bench/wire-errors.generated.ts", import.meta.url),
  protocol: new URL("PROTOCOL.md", import.meta.url),
} as const;

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const rows = parseErrors(readFileSync(errorFiles.csv, "utf8"));
  writeFileSync(errorFiles.header, cHeader(rows));
  writeFileSync(errorFiles.host, hostTable(rows));
  writeFileSync(
    errorFiles.protocol,
    withErrorTable(readFileSync(errorFiles.protocol, "utf8"), rows),
  );
}
