/**
 * YAML 1.2 text to a tree whose every node knows its line and column.
 *
 * Less than YAML on purpose: anchors, aliases, tags and several documents in one file are refused,
 * because a proof must be readable line by line, and because aliases can unfold without bound.
 */
import {
  type Document,
  isAlias,
  isCollection,
  isMap,
  isPair,
  isScalar,
  isSeq,
  Lexer,
  LineCounter,
  type Node,
  type ParsedNode,
  Parser,
  parseDocument,
  visit,
  type YAMLError,
} from "yaml";
import { type FileProblem, type ProblemCode, printableText } from "./problem.ts";

/** Deepest nesting read. The formats need 8; beyond this recursive readers run out of stack. */
const NESTING_MAX = 32;

export type ValuePath = readonly (string | number)[];

/** A spot in a file. Line and column count from 1. */
export interface TextSpot {
  readonly line: number;
  readonly column: number;
  /** Text at the spot, shortened and printable. */
  readonly text: string;
}

export interface YamlTree {
  readonly value: unknown;
  /**
   * Where a path is written: its value, or the key in front of it. A path that is not in the file
   * gives the nearest thing that encloses it, which is where a missing key has to go.
   */
  spot(path: ValuePath, part: "key" | "value"): TextSpot;
}

export interface YamlOutcome {
  /** null when the text cannot be read as one tree. */
  readonly tree: YamlTree | null;
  readonly problems: readonly FileProblem[];
}

/** Read one YAML document. Never throws; every problem found is in the outcome. */
export function readYaml(text: string, fileName: string): YamlOutcome {
  const lines = new LineCounter();
  lines.addNewLine(0);
  for (let at = text.indexOf("\n"); at >= 0; at = text.indexOf("\n", at + 1)) {
    lines.addNewLine(at + 1);
  }
  const source: Source = { text, fileName, lines };
  const deepAt = tooDeepAt(text);
  if (deepAt !== null) {
    const reason = `nested deeper than ${NESTING_MAX} levels`;
    const whatToDo = "check that the right file is named";
    return { tree: null, problems: [problemAt(source, deepAt, "YAML_TOO_DEEP", reason, whatToDo)] };
  }
  const document = parseDocument(text, {
    version: "1.2",
    strict: true,
    stringKeys: true,
    // The library compares every key with every other; doubledKeys() needs one look each.
    uniqueKeys: false,
    prettyErrors: false,
  });
  const problems = syntaxProblems(source, document);
  if (problems.length === 0) problems.push(...unwantedParts(source, document));
  if (problems.length > 0) return { tree: null, problems };
  const root = document.contents;
  return {
    tree: { value: document.toJS(), spot: (path, part) => spotOf(source, root, path, part) },
    // A tree with a doubled key still stands, so its other problems can be told as well.
    problems: doubledKeys(source, document),
  };
}

interface Source {
  readonly text: string;
  readonly fileName: string;
  readonly lines: LineCounter;
}

/**
 * Offset of the first token nested too deep; null when there is none. Stops there: a megabyte of
 * brackets must not cost more than the first few.
 */
function tooDeepAt(text: string): number | null {
  // The token parser keeps its own stack, so unlike what follows it cannot overflow the call stack.
  const parser = new Parser();
  for (const lexeme of new Lexer().lex(text)) {
    for (const token of parser.next(lexeme)) void token;
    const levels = parser.stack.filter((token) => "items" in token).length;
    if (levels > NESTING_MAX) return parser.offset - lexeme.length;
  }
  return null;
}

/** Own words for the reader's errors that a person meets; the library's for the rare ones. */
const SYNTAX_WORDS: Readonly<Record<string, { code: ProblemCode; reason: string; todo: string }>> =
  {
    TAB_AS_INDENT: {
      code: "YAML_TAB",
      reason: "a tab where the indent belongs, expected spaces",
      todo: "replace tabs by spaces",
    },
    BAD_INDENT: {
      code: "YAML_SYNTAX",
      reason: "the indent does not fit the lines around it",
      todo: "line it up with its neighbours",
    },
    MULTIPLE_DOCS: {
      code: "YAML_SYNTAX",
      reason: "a second document starts here, expected one a file",
      todo: "remove the `---` or split the file",
    },
    BAD_ALIAS: {
      code: "YAML_ALIAS",
      reason: "an alias, expected the value itself",
      todo: "write the value out",
    },
    TAG_RESOLVE_FAILED: {
      code: "YAML_TAG",
      reason: "a tag, expected a plain value",
      todo: "remove the tag",
    },
    NON_STRING_KEY: {
      code: "YAML_SYNTAX",
      reason: "a key that is not a plain word",
      todo: "write a plain word before the colon",
    },
  };

/** Errors of the reader without those that only follow from another. */
function syntaxProblems(source: Source, document: Document.Parsed): FileProblem[] {
  const all = [...document.errors, ...document.warnings].map((error) =>
    syntaxProblem(source, error),
  );
  // A tab shifts the indent of all that follows; what the reader says then is about the shift.
  const tabs = all.filter((problem) => problem.code === "YAML_TAB");
  const told = tabs.length > 0 ? tabs : all;
  const lines = told.map((problem) => problem.line);
  return told.filter((problem, index) => lines.indexOf(problem.line) === index);
}

function syntaxProblem(source: Source, error: YAMLError): FileProblem {
  const words = SYNTAX_WORDS[error.code];
  if (words !== undefined) {
    return problemAt(source, error.pos[0], words.code, words.reason, words.todo);
  }
  const reason = `not readable as YAML: ${printableText(error.message)}`;
  const whatToDo = "check brackets, quotes, colons and indent here and on the line before";
  return problemAt(source, error.pos[0], "YAML_SYNTAX", reason, whatToDo);
}

function unwantedParts(source: Source, document: Document.Parsed): FileProblem[] {
  const problems: FileProblem[] = [];
  if (document.directives.yaml.explicit === true && document.directives.yaml.version !== "1.2") {
    const reason = `YAML ${document.directives.yaml.version}, expected 1.2`;
    problems.push(problemAt(source, 0, "YAML_SYNTAX", reason, "remove the %YAML line"));
  }
  visit(document, (_key, node) => {
    if (isPair(node) || node === null || typeof node !== "object") return;
    const at = (node as Node).range?.[0] ?? 0;
    if (isAlias(node)) {
      problems.push(
        problemAt(source, at, "YAML_ALIAS", "an alias, expected the value itself", "write it out"),
      );
      return;
    }
    if (!isScalar(node) && !isCollection(node)) return;
    if (node.anchor !== undefined) {
      const reason = `an anchor &${printableText(node.anchor)}, expected none`;
      problems.push(problemAt(source, at, "YAML_ALIAS", reason, "remove it and write values out"));
    }
    if (node.tag !== undefined) {
      const reason = `a tag ${printableText(node.tag)}, expected a plain value`;
      problems.push(problemAt(source, at, "YAML_TAG", reason, "remove the tag"));
    }
    // Objects have this name by nature: schema readers skip it, so it would vanish unseen.
    if (isScalar(node) && _key === "key" && node.value === "__proto__") {
      const reason = "a key no file has, expected one of the format's own";
      problems.push(problemAt(source, at, "KEY_UNKNOWN", reason, "remove it"));
    }
  });
  return problems;
}

function doubledKeys(source: Source, document: Document.Parsed): FileProblem[] {
  const problems: FileProblem[] = [];
  visit(document, {
    Map(_key, map) {
      const firstAt = new Map<unknown, number>();
      for (const { key } of map.items) {
        if (!isScalar(key)) continue;
        const at = key.range?.[0] ?? 0;
        const first = firstAt.get(key.value);
        if (first === undefined) {
          firstAt.set(key.value, at);
          continue;
        }
        const { line } = spotAt(source, first, first);
        const reason = `this key stands twice in one mapping, first on line ${line}`;
        const todo = "keep one of the two";
        const spot = spotAt(source, at, key.range?.[1] ?? at);
        problems.push(problemOf(source, spot, "YAML_DUPLICATE_KEY", reason, todo));
      }
    },
  });
  return problems;
}

function problemAt(
  source: Source,
  offset: number,
  code: ProblemCode,
  reason: string,
  whatToDo: string,
): FileProblem {
  const spot = spotAt(source, offset, lineEnd(source.text, offset));
  return problemOf(source, spot, code, reason, whatToDo);
}

function problemOf(
  source: Source,
  spot: TextSpot,
  code: ProblemCode,
  reason: string,
  whatToDo: string,
): FileProblem {
  const { line, column, text } = spot;
  return { code, file: source.fileName, line, column, offending: text, reason, whatToDo };
}

function spotAt(source: Source, start: number, end: number): TextSpot {
  const { line, col } = source.lines.linePos(Math.min(start, source.text.length));
  return {
    line: Math.max(1, line),
    column: Math.max(1, col),
    text: printableText(source.text.slice(start, end).trim()),
  };
}

function lineEnd(text: string, offset: number): number {
  const end = text.indexOf("\n", offset);
  return end < 0 ? text.length : end;
}

function spotOf(
  source: Source,
  root: ParsedNode | null,
  path: ValuePath,
  part: "key" | "value",
): TextSpot {
  let node: unknown = root;
  let key: unknown = null;
  let found: "whole" | "part" = "whole";
  for (const name of path) {
    const next = child(node, name);
    if (next === null) {
      found = "part";
      break;
    }
    node = next.value;
    key = next.key;
  }
  const wanted = part === "key" || found === "part" || !isScalar(node) ? (key ?? node) : node;
  const range = (wanted as Node | null)?.range;
  if (!range) return spotAt(source, 0, lineEnd(source.text, 0));
  return spotAt(source, range[0], Math.max(range[0], range[1]));
}

function child(node: unknown, name: string | number): { key: unknown; value: unknown } | null {
  if (isSeq(node) && typeof name === "number") {
    const value = node.items[name];
    return value === undefined ? null : { key: null, value };
  }
  if (!isMap(node)) return null;
  const pair = node.items.find((item) => isScalar(item.key) && item.key.value === String(name));
  return pair === undefined ? null : { key: pair.key, value: pair.value ?? pair.key };
}
