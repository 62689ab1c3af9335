/**
 * Vectors for a netlist: a line each, one letter an input, 0, 1 or X; what follows after a space, such as the
 * answers, is not read; `#` begins a remark.
 */
import { checkText } from "./decode-text.ts";
import type { FileProblem } from "./problem.ts";

export type VectorsResult =
  | { readonly ok: true; readonly vectors: readonly string[] }
  | { readonly ok: false; readonly problems: readonly FileProblem[] };

/** @param inputCount letters that each vector must have */
export function readVectors(text: string, file: string, inputCount: number): VectorsResult {
  const checked = checkText(text, file);
  if (!checked.ok) return checked;
  const problems: FileProblem[] = [];
  const vectors: string[] = [];
  for (const [index, whole] of checked.text.split(/\r?\n/).entries()) {
    const bare = whole.replace(/#.*/, "");
    const [word = ""] = bare.trim().split(/\s+/);
    if (word === "") continue;
    const column = bare.indexOf(word) + 1;
    const refuse = (at: number, reason: string, whatToDo: string) =>
      problems.push({
        ...{
          code: "NETLIST_SYNTAX",
          file,
          line: index + 1,
          column: at,
          offending: word.slice(0, 60),
        },
        ...{ reason, whatToDo },
      });
    const strange = word.search(/[^01Xx]/);
    if (strange >= 0)
      refuse(column + strange, "expected 0, 1 or X for each input", "mend the letter");
    else if (word.length !== inputCount) {
      const reason = `${word.length} letters, the netlist has ${inputCount} inputs`;
      refuse(column, reason, "give each input one letter, in the order of the netlist");
    } else vectors.push(word.toUpperCase());
  }
  if (problems.length > 0) return { ok: false, problems };
  if (vectors.length > 0) return { ok: true, vectors };
  const none = {
    line: 1,
    column: 1,
    offending: "",
    reason: "no vector in it",
    whatToDo: "add one",
  };
  return { ok: false, problems: [{ code: "FILE_EMPTY", file, ...none }] };
}
