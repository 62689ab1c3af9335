/** Entries into a file of notes; what a person wrote in it, comments too, stays as it is. */
import { isCollection, isSeq, parseDocument, YAMLSeq } from "yaml";
import type { TubeNote } from "./notes.schema.ts";

const EMPTY = "format: holdfast-notes\nversion: 1\n";

/** Notes are read line by line: an entry keeps to its own. */
const LINE_WIDTH_NONE = 0;

/**
 * @param text a file of notes that loads; null for none yet
 * @returns its text with one more note on a tube, after those it has
 */
export function withTubeNote(text: string | null, serial: string, note: TubeNote): string {
  return withEntry(text, ["tubes", serial], note);
}

/** The same with one more run that its unit is held against. */
export function withBaseline(
  text: string | null,
  baseline: { readonly run: string; readonly note?: string },
): string {
  return withEntry(text, ["baselines"], baseline);
}

function withEntry(text: string | null, path: readonly string[], entry: object): string {
  const document = parseDocument(text ?? EMPTY, { stringKeys: true });
  // A key that was left empty would stand in the way of what goes below it.
  const [outer = ""] = path;
  if (document.has(outer) && !isCollection(document.get(outer))) document.delete(outer);
  const list = document.getIn(path);
  const node = document.createNode(entry, { flow: true });
  if (isSeq(list)) list.add(node);
  else {
    const begun = new YAMLSeq();
    begun.items.push(node);
    document.setIn(path, begun);
  }
  return document.toString({ lineWidth: LINE_WIDTH_NONE });
}
