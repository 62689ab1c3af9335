/** Where the checks of a proof put what they find, each with its place in the right file. */
import type { LoadedDocument } from "../formats/load-document.ts";
import { orMeant } from "../formats/nearest-name.ts";
import { type FileProblem, type ProblemCode, sortProblems } from "../formats/problem.ts";
import type { ValuePath } from "../formats/yaml-tree.ts";

/** What a check found; `part` says whether the key or the value is at fault. */
export interface Finding {
  readonly code: ProblemCode;
  readonly reason: string;
  readonly whatToDo: string;
  readonly part?: "key" | "value";
  /** Names that are known here, where an unknown one may be a slip of the pen for one of them. */
  readonly known?: Iterable<string>;
}

/** The part of a loaded document that a problem needs. */
export type Place = Pick<LoadedDocument<unknown>, "file" | "spot">;

/** Collects problems; the same problem at the same spot, as from a repeated step, counts once. */
export class ProblemList {
  readonly #problems = new Map<string, FileProblem>();

  add(place: Place, path: ValuePath, finding: Finding): void {
    const { code, reason, part = "value", known = [] } = finding;
    const { line, column, text } = place.spot(path, part);
    const whatToDo = orMeant(text, known, finding.whatToDo);
    const key = [place.file, line, column, code, reason].join("\0");
    if (this.#problems.has(key)) return;
    this.#problems.set(key, {
      code,
      file: place.file,
      line,
      column,
      offending: text,
      reason,
      whatToDo,
    });
  }

  get empty(): boolean {
    return this.#problems.size === 0;
  }

  sorted(): FileProblem[] {
    return sortProblems([...this.#problems.values()]);
  }
}
