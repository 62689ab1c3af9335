/** What zod found, in words: expected, came, where, what to do. */
import { z } from "zod";
import { orMeant } from "./nearest-name.ts";
import { type FileProblem, type ProblemCode, printableText } from "./problem.ts";
import {
  branchIndex,
  childValue,
  choosingKeys,
  describedAs,
  knownKeys,
  schemaAt,
} from "./schema-walk.ts";
import type { ValuePath, YamlTree } from "./yaml-tree.ts";

interface Findings {
  readonly tree: YamlTree;
  readonly fileName: string;
  readonly schema: z.ZodType;
  readonly issues: readonly z.core.$ZodIssue[];
}

/** One problem or more for each issue; unions are reported by the branch that was meant. */
export function schemaProblems(findings: Findings): FileProblem[] {
  return findings.issues.flatMap((issue) => problemsOf(findings, issue, []));
}

interface Words {
  readonly code: ProblemCode;
  readonly part: "key" | "value";
  readonly reason: string;
  readonly whatToDo: string;
}

function problemsOf(
  findings: Findings,
  issue: z.core.$ZodIssue,
  base: readonly PropertyKey[],
): FileProblem[] {
  const path = [...base, ...issue.path];
  const value = path.reduce<unknown>(childValue, findings.tree.value);
  const schema = schemaAt(findings.schema, findings.tree.value, path);
  if (issue.code === "unrecognized_keys") {
    const known = knownKeys(schema);
    return issue.keys.map((key) => make(findings, [...path, key], unknownKey(key, known)));
  }
  if (issue.code === "invalid_union") return unionProblems(findings, issue, path, value);
  if (issue.code === "invalid_key") {
    const pattern = issue.issues[0]?.message ?? "another name";
    return [
      make(findings, path, {
        code: "VALUE_REFUSED",
        part: "key",
        reason: `this name is not taken, expected ${pattern}`,
        whatToDo: "rename it",
      }),
    ];
  }
  if (value === undefined) return [make(findings, path, missingKey(path, schema))];
  return [make(findings, path, wordsFor(issue, value, schema))];
}

function unionProblems(
  findings: Findings,
  issue: z.core.$ZodIssueInvalidUnion,
  path: PropertyKey[],
  value: unknown,
): FileProblem[] {
  if (issue.discriminator !== undefined) return [tagProblem(findings, issue, path, value)];
  // schemaAt resolves unions by the value, so the union itself is asked for through its parent.
  const union = unionAt(findings, path);
  const keys = choosingKeys(union);
  const index = union === null ? null : branchIndex(union, value);
  const errors = index === null ? undefined : issue.errors[index];
  if (errors !== undefined && errors.length > 0) {
    return errors.flatMap((inner) => problemsOf(findings, inner, path));
  }
  const expected = keys === null ? "one of the known forms" : `one of ${keys.join(", ")}`;
  const isMap = typeof value === "object" && value !== null && !Array.isArray(value);
  const came = isMap ? `keys ${printableText(Object.keys(value).join(", "))}` : kindOf(value);
  return [
    make(findings, path, {
      code: "KEY_MISSING",
      part: "value",
      reason: `${came}, expected an entry with ${expected}`,
      whatToDo: keys === null ? "write it in a known form" : "begin the entry with one of these",
    }),
  ];
}

function tagProblem(
  findings: Findings,
  issue: z.core.$ZodIssueInvalidUnion,
  path: PropertyKey[],
  value: unknown,
): FileProblem {
  const tag = issue.discriminator ?? "";
  const tagPath = path.at(-1) === tag ? path : [...path, tag];
  const given = tagPath.reduce<unknown>(childValue, findings.tree.value);
  const options = optionWords(unionAt(findings, tagPath.slice(0, -1)), tag);
  if (path.at(-1) !== tag && typeof value !== "object") {
    return make(findings, path, wrongType("keys and values", value));
  }
  if (given === undefined) {
    return make(findings, tagPath, {
      code: "KEY_MISSING",
      part: "key",
      reason: `missing key ${tag}, expected one of ${options}`,
      whatToDo: `add \`${tag}:\``,
    });
  }
  return make(findings, tagPath, {
    code: "VALUE_REFUSED",
    part: "value",
    reason: `not a known ${tag}, expected one of ${options}`,
    whatToDo: orMeant(String(given), options.split(", "), "use one of these"),
  });
}

function unionAt(findings: Findings, path: readonly PropertyKey[]): z.ZodUnion | null {
  const parentPath = path.slice(0, -1);
  const key = path.at(-1);
  const parent = schemaAt(findings.schema, findings.tree.value, parentPath);
  if (key === undefined || parent === null) return null;
  // An empty value resolves no union, which leaves the union itself.
  const empty: unknown = typeof key === "number" ? [] : {};
  const at = schemaAt(parent, empty, [key]);
  return at instanceof z.ZodUnion ? at : null;
}

function optionWords(union: z.ZodUnion | null, tag: string): string {
  const words = (union?.options ?? []).flatMap((option) => {
    const literal: unknown = option instanceof z.ZodObject ? option.shape[tag] : null;
    return literal instanceof z.ZodLiteral ? [...literal.values].map(String) : [];
  });
  return words.join(", ");
}

function unknownKey(key: string, known: readonly string[]): Words {
  return {
    code: "KEY_UNKNOWN",
    part: "key",
    reason: `unknown key, known here are ${known.join(", ")}`,
    whatToDo: orMeant(key, known, "remove it or use a known one"),
  };
}

function missingKey(path: readonly PropertyKey[], schema: z.core.$ZodType | null): Words {
  const name = String(path.at(-1));
  const about = describedAs(schema);
  return {
    code: "KEY_MISSING",
    part: "key",
    reason: `missing key ${name}${about === null ? "" : ` (${about})`}`,
    whatToDo: `add \`${name}:\` here`,
  };
}

function wordsFor(issue: z.core.$ZodIssue, value: unknown, schema: z.core.$ZodType | null): Words {
  const about = describedAs(schema);
  const meaning = about === null ? "" : ` (${about})`;
  switch (issue.code) {
    case "invalid_type":
      return wrongType(`${EXPECTED_KINDS[issue.expected] ?? issue.expected}${meaning}`, value);
    case "invalid_value": {
      const known = issue.values.map(String);
      const words = refused(`expected ${known.join(" or ")}${meaning}`);
      return typeof value === "string"
        ? { ...words, whatToDo: orMeant(value, known, words.whatToDo) }
        : words;
    }
    case "too_small":
      return refused(
        `too small, expected ${boundWords(issue.inclusive ? "at least" : "more than", issue.minimum, issue.origin)}${meaning}`,
      );
    case "too_big":
      return refused(
        `too large, expected ${boundWords(issue.inclusive === false ? "less than" : "at most", issue.maximum, issue.origin)}${meaning}`,
      );
    default:
      return refused(`${startsWithExpected(issue.message)}${meaning}`);
  }
}

function startsWithExpected(message: string): string {
  return message.startsWith("expected") ? message : `expected ${message}`;
}

function boundWords(how: string, limit: number | bigint, origin: string): string {
  if (origin === "string") return `${how} ${limit} characters`;
  if (origin === "array") return `${how} ${limit} entries`;
  return `${how} ${limit}`;
}

function refused(reason: string): Words {
  return { code: "VALUE_REFUSED", part: "value", reason, whatToDo: "change the value" };
}

function wrongType(expected: string, value: unknown): Words {
  const quoted = typeof value === "string" && value.trim() !== "" && Number.isFinite(Number(value));
  return {
    code: "TYPE_WRONG",
    part: "value",
    reason: `${kindOf(value)}, expected ${expected}`,
    whatToDo: quoted ? "write the number without quotes" : "change the value",
  };
}

const EXPECTED_KINDS: Readonly<Record<string, string>> = {
  string: "a text",
  number: "a number",
  int: "a whole number",
  boolean: "true or false",
  object: "keys and values",
  record: "keys and values",
  array: "a list",
  tuple: "a list of fixed length",
};

function kindOf(value: unknown): string {
  if (value === null || value === undefined) return "no value";
  if (Array.isArray(value)) return "a list";
  if (typeof value === "object") return "keys and values";
  if (typeof value === "number") return Number.isFinite(value) ? "a number" : "no finite number";
  if (typeof value === "boolean") return "true or false";
  return "a text";
}

function make(findings: Findings, path: readonly PropertyKey[], words: Words): FileProblem {
  const { code, part, reason, whatToDo } = words;
  const { line, column, text } = findings.tree.spot(valuePath(path), part);
  return { code, file: findings.fileName, line, column, offending: text, reason, whatToDo };
}

function valuePath(path: readonly PropertyKey[]): ValuePath {
  return path.map((key) => (typeof key === "number" ? key : String(key)));
}
