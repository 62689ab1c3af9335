/** Expected classes written into the text of a sequence; every other byte stays as a person left it. */
import { isMap, parseDocument, type YAMLMap } from "yaml";
import type { ValuePath } from "./yaml-tree.ts";

export interface ClassesAt {
  /** Of a step, a hold or a hold's flip that names no classes. */
  readonly path: ValuePath;
  readonly classes: Readonly<Record<string, string>>;
}

/**
 * @param text of a sequence file that loads
 * @returns its text with `expect` in each of these places, after what stands there
 */
export function withClasses(text: string, places: readonly ClassesAt[]): string {
  const document = parseDocument(text, { stringKeys: true });
  const insertions = places.flatMap(({ path, classes }) => {
    const node = document.getIn([...path]);
    return isMap(node) ? [insertion(text, node, classes)] : [];
  });
  return insertions
    .sort((a, b) => b.at - a.at)
    .reduce((so, { at, words }) => so.slice(0, at) + words + so.slice(at), text);
}

function insertion(text: string, map: YAMLMap, classes: Readonly<Record<string, string>>) {
  const pairs = Object.entries(classes).map(([net, level]) => `${net}: ${level}`);
  const words = `expect: { ${pairs.join(", ")} }`;
  const last = endOf(map.items.at(-1)?.value) ?? endOf(map) ?? text.length;
  if (map.flow === true) return { at: last, words: `, ${words}` };
  // In a block the new line stands where its neighbours do, after the last that is no block of its own.
  const plain = map.items.filter(({ value }) => !isMap(value) || value.flow === true);
  const after = endOf(plain.at(-1)?.value) ?? last;
  const lineEnd = text.indexOf("\n", after);
  const indent = " ".repeat(columnOf(text, startOf(map.items[0]?.key) ?? 0));
  const at = lineEnd < 0 ? text.length : lineEnd;
  return { at, words: `\n${indent}${words}` };
}

function rangeOf(node: unknown): readonly number[] | undefined {
  if (typeof node !== "object" || node === null || !("range" in node)) return undefined;
  return Array.isArray(node.range) ? node.range : undefined;
}

function startOf(node: unknown): number | undefined {
  return rangeOf(node)?.[0];
}

/** Where the value itself ends, before a comment behind it. */
function endOf(node: unknown): number | undefined {
  return rangeOf(node)?.[1];
}

function columnOf(text: string, at: number): number {
  return at - (text.lastIndexOf("\n", at - 1) + 1);
}
