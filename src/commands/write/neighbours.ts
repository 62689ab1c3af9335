/** The files that lie beside the one being written: what is offered from them, and whether it fits. */
import { join } from "node:path";
import type { ComposedKind } from "../../compose/compositions.ts";
import { neededFor } from "../../compose/compositions.ts";
import { type Board, loadBoard } from "../../formats/board.schema.ts";
import { loadCircuit } from "../../formats/circuit.schema.ts";
import type { LoadedDocument, LoadResult } from "../../formats/load-document.ts";
import { type FileProblem, problemLines } from "../../formats/problem.ts";
import { loadRig, type Rig } from "../../formats/rig.schema.ts";
import { loadSequence } from "../../formats/sequence.schema.ts";
import { loadUnit } from "../../formats/unit.schema.ts";
import { checkBoardAlone, checkRigOnBoard } from "../../plan/check-alone.ts";
import { checkUnit } from "../../plan/check-unit.ts";
import { resolvePlan } from "../../plan/resolve-plan.ts";
import { readProofFile } from "../read-proof-file.ts";
import { UsageError } from "../usage-error.ts";

export interface Neighbours {
  readonly board: Board | null;
  readonly rig: Rig | null;
  readonly documents: {
    readonly board: LoadedDocument<Board> | null;
    readonly rig: LoadedDocument<Rig> | null;
  };
}

/**
 * Board and rig where the questions need them.
 *
 * @throws UsageError when one is missing or has problems, with all of them
 */
export async function neighbours(
  kind: ComposedKind,
  folder: string,
  named: { readonly board?: string; readonly rig?: string },
): Promise<Neighbours> {
  const needed = neededFor(kind);
  const board = needed.includes("board")
    ? await loadNeighbour(named.board ?? join(folder, "board.yaml"), "board", loadBoard)
    : null;
  const rig = needed.includes("rig")
    ? await loadNeighbour(named.rig ?? join(folder, "rig.yaml"), "rig", loadRig)
    : null;
  if (board !== null) {
    const found = rig === null ? checkBoardAlone({ board }) : checkRigOnBoard({ board, rig });
    if (found.length > 0) throw mendFirst(found);
  }
  return { board: board?.value ?? null, rig: rig?.value ?? null, documents: { board, rig } };
}

async function loadNeighbour<T>(
  path: string,
  role: "board" | "rig",
  loader: (text: string, name: string) => LoadResult<T>,
): Promise<LoadedDocument<T>> {
  const read = await readProofFile(path, role);
  if (!read.ok) {
    throw new UsageError(
      `${problemLines(read.problems).join("\n")}\nThese questions need its names and volts: ` +
        `write it first (holdfast write ${role}), or name it with --${role}.`,
    );
  }
  const loaded = loader(read.file.text, path);
  if (!loaded.ok) throw mendFirst(loaded.problems);
  return loaded.document;
}

function mendFirst(problems: readonly FileProblem[]): UsageError {
  return new UsageError(`${problemLines(problems).join("\n")}\nMend this first.`);
}

/** Everything that `check` would say of the text, as far as the files beside it reach. */
export function problemsOfText(
  {
    kind,
    path,
    text,
  }: { readonly kind: ComposedKind; readonly path: string; readonly text: string },
  { documents: { board, rig } }: Neighbours,
): readonly FileProblem[] {
  switch (kind) {
    case "board":
      return problemsOr(loadBoard(text, path), (document) => checkBoardAlone({ board: document }));
    case "circuit":
      return problemsOr(loadCircuit(text, path), () => []);
    case "rig":
      return problemsOr(loadRig(text, path), (document) =>
        board === null ? [] : checkRigOnBoard({ board, rig: document }),
      );
    case "unit":
      return problemsOr(loadUnit(text, path), (document) =>
        board === null ? [] : checkUnit(document, board.value),
      );
    case "sequence":
      return problemsOr(loadSequence(text, path), (sequence) => {
        if (board === null || rig === null) return [];
        const result = resolvePlan({ board, rig, sequence, sources: [] });
        return result.ok ? [] : result.problems;
      });
  }
}

function problemsOr<T>(
  loaded: LoadResult<T>,
  check: (document: LoadedDocument<T>) => readonly FileProblem[],
): readonly FileProblem[] {
  return loaded.ok ? check(loaded.document) : loaded.problems;
}
