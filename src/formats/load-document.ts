/**
 * The general loader: text of a file to a typed value that remembers where each part is written,
 * or every problem of the file at once.
 */
import { z } from "zod";
import { checkText } from "./decode-text.ts";
import { type FileProblem, FormatError, sortProblems } from "./problem.ts";
import { schemaProblems } from "./schema-problems.ts";
import { readYaml, type TextSpot, type ValuePath, type YamlTree } from "./yaml-tree.ts";

/** A value and the file it came from. */
export interface LoadedDocument<T> {
  /** Name of the file as it is to stand in messages. */
  readonly file: string;
  readonly value: T;
  /** Where a path of the value, or the key before it, is written. */
  spot(path: ValuePath, part: "key" | "value"): TextSpot;
}

export type LoadResult<T> =
  | { readonly ok: true; readonly document: LoadedDocument<T> }
  | { readonly ok: false; readonly problems: readonly FileProblem[] };

/**
 * Read one file of a known format.
 *
 * @param schema strict object schema with the literals `format` and `version`
 * @returns the value with its positions, or all problems, sorted by position; never throws for
 *   any text
 */
export function loadDocument<S extends z.ZodObject>(
  text: string,
  fileName: string,
  schema: S,
): LoadResult<z.output<S>> {
  const checked = checkText(text, fileName);
  if (!checked.ok) return checked;
  const { tree, problems } = readYaml(checked.text, fileName);
  if (tree === null) return { ok: false, problems: sortProblems(problems) };
  const stranger = formatProblem(tree, fileName, schema);
  if (stranger !== null) return { ok: false, problems: sortProblems([...problems, stranger]) };
  const parsed = schema.safeParse(tree.value, { reportInput: false });
  if (!parsed.success) {
    const found = schemaProblems({ tree, fileName, schema, issues: parsed.error.issues });
    return { ok: false, problems: sortProblems([...problems, ...found]) };
  }
  if (problems.length > 0) return { ok: false, problems: sortProblems(problems) };
  return {
    ok: true,
    document: { file: fileName, value: parsed.data, spot: (path, part) => tree.spot(path, part) },
  };
}

/**
 * The document of a result.
 *
 * @throws FormatError with every problem when there is none
 */
export function documentOf<T>(result: LoadResult<T>): LoadedDocument<T> {
  if (!result.ok) throw new FormatError(result.problems);
  return result.document;
}

/**
 * Format and version before anything else: a file of another kind would only give a page of
 * unknown keys, and a newer one must be refused by name.
 */
function formatProblem(tree: YamlTree, file: string, schema: z.ZodObject): FileProblem | null {
  const format = literalOf(schema, "format");
  const version = literalOf(schema, "version");
  const value = tree.value;
  const refuse = (
    code: FileProblem["code"],
    key: string,
    reason: string,
    whatToDo: string,
  ): FileProblem => {
    const { line, column, text } = tree.spot([key], "value");
    return { code, file, line, column, offending: text, reason, whatToDo };
  };
  if (typeof value !== "object" || value === null || Array.isArray(value)) {
    const reason = `expected keys and values that begin with \`format: ${format}\``;
    return refuse("FORMAT_WRONG", "format", reason, "check that the right file is named");
  }
  const given = new Map<string, unknown>(Object.entries(value));
  const name = given.get("format");
  if (name === undefined) {
    const reason = `no format is named, expected \`format: ${format}\``;
    return refuse("FORMAT_WRONG", "format", reason, "add it as the first line");
  }
  if (name !== format) {
    const reason = `the file's format is not ${format}`;
    return refuse("FORMAT_WRONG", "format", reason, "check that the right file is named");
  }
  const age = given.get("version");
  if (typeof age === "number" && typeof version === "number" && age > version) {
    const reason = `${format} version ${age} is newer than this program reads (${version})`;
    return refuse("FORMAT_NEWER", "version", reason, "use a newer Holdfast for this file");
  }
  return null;
}

function literalOf(schema: z.ZodObject, key: string): unknown {
  const field: unknown = schema.shape[key];
  return field instanceof z.ZodLiteral ? field.value : undefined;
}
