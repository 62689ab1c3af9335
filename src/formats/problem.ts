/**
 * What is wrong in a file, said so that a person can go to the spot and mend it. Loading and
 * resolving collect every problem before they answer: nobody should mend a file one run at a time.
 */

/** What kind of problem it is. The words for people are in `reason` and `whatToDo`. */
export type ProblemCode =
  | "FILE_UNREADABLE"
  | "FILE_EMPTY"
  | "FILE_BINARY"
  | "FILE_TOO_LARGE"
  | "YAML_SYNTAX"
  | "YAML_TAB"
  | "YAML_DUPLICATE_KEY"
  | "YAML_ALIAS"
  | "YAML_TAG"
  | "YAML_TOO_DEEP"
  | "FORMAT_WRONG"
  | "FORMAT_NEWER"
  | "KEY_UNKNOWN"
  | "KEY_MISSING"
  | "TYPE_WRONG"
  | "VALUE_REFUSED"
  | "OTHER_BOARD"
  | "NAME_UNKNOWN"
  | "NAME_TWICE"
  | "CHANNEL_MISSING"
  | "OUTPUT_MISSING"
  | "WIRING_FIXED"
  | "CEILING_EXCEEDED"
  | "LIMITS_DISAGREE"
  | "RANGE_CLIPS"
  | "TIME_TOO_SHORT"
  | "HOLD_INCOMPLETE"
  | "WARM_UP_INCOMPLETE"
  | "STEPS_TOO_MANY"
  | "NETLIST_SYNTAX"
  | "EXPECTATION_UNKNOWN";

/** One problem of one file. Lines and columns count from 1; both null when the file has no text. */
export interface FileProblem {
  readonly code: ProblemCode;
  readonly file: string;
  readonly line: number | null;
  readonly column: number | null;
  /** The text of the file that is meant, shortened; empty when there is none. */
  readonly offending: string;
  /** What was expected and what came. */
  readonly reason: string;
  /** The next thing to do. */
  readonly whatToDo: string;
}

/** Longest piece of a file repeated in a message; enough to find it, short enough for one line. */
const OFFENDING_LENGTH_MAX = 60;

/** Problems printed of one answer; a file that is not meant for this program has thousands. */
const PROBLEMS_PRINTED_MAX = 100;

/**
 * Text of a file made safe to print: one line, control and direction marks written as escapes so
 * that a hostile file cannot move the cursor or hide a word, shortened to 60 characters.
 */
export function printableText(text: string): string {
  const firstLine = text.split(/\r?\n/, 1)[0]?.trimEnd() ?? "";
  const cut =
    firstLine.length > OFFENDING_LENGTH_MAX || firstLine.length < text.trimEnd().length
      ? `${firstLine.slice(0, OFFENDING_LENGTH_MAX)}...`
      : firstLine;
  return cut.replace(
    /[\p{Cc}\p{Cf}\p{Cs}\u2028\u2029]/gu,
    (mark) => `\\u${mark.charCodeAt(0).toString(16).padStart(4, "0")}`,
  );
}

/** `file:line:column: offending text: reason; what to do`, one line. */
export function problemLine(problem: FileProblem): string {
  const place =
    problem.line === null ? problem.file : `${problem.file}:${problem.line}:${problem.column ?? 1}`;
  const offending = problem.offending === "" ? "" : `${problem.offending}: `;
  return `${place}: ${offending}${problem.reason}; ${problem.whatToDo}`;
}

/** All problems as lines, in the order of the files' text, at most 100 and a count of the rest. */
export function problemLines(problems: readonly FileProblem[]): string[] {
  const lines = problems.slice(0, PROBLEMS_PRINTED_MAX).map(problemLine);
  const rest = problems.length - lines.length;
  if (rest > 0) lines.push(`and ${rest} more; mend the ones above and check again`);
  return lines;
}

/** Problems sorted by line and column inside each file, files in order of first appearance. */
export function sortProblems(problems: readonly FileProblem[]): FileProblem[] {
  const files = [...new Set(problems.map((problem) => problem.file))];
  return [...problems].sort(
    (a, b) =>
      files.indexOf(a.file) - files.indexOf(b.file) ||
      (a.line ?? 0) - (b.line ?? 0) ||
      (a.column ?? 0) - (b.column ?? 0),
  );
}

/** Thrown where a caller wants a value or nothing. Its message holds every problem, one a line. */
export class FormatError extends Error {
  /** Code of the first problem; the rest are in `problems`. */
  readonly code: ProblemCode;
  readonly problems: readonly FileProblem[];

  constructor(problems: readonly FileProblem[]) {
    const [first] = problems;
    if (first === undefined) throw new RangeError("a FormatError needs at least one problem");
    super(problemLines(problems).join("\n"));
    this.name = "FormatError";
    this.code = first.code;
    this.problems = problems;
  }
}
