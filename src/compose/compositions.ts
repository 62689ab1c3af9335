/** The kinds of file that can be written by question and answer, and what each needs at hand. */
import type { Board } from "../formats/board.schema.ts";
import type { Rig } from "../formats/rig.schema.ts";
import { askBoard } from "./ask-board.ts";
import { askCircuit, circuitRefusal } from "./ask-circuit.ts";
import { askRig } from "./ask-rig.ts";
import { askSequence } from "./ask-sequence.ts";
import { askUnit } from "./ask-unit.ts";
import { boardText, circuitText, rigText, sequenceText, unitText } from "./file-texts.ts";
import type { Dialogue } from "./question.ts";

export const COMPOSED_KINDS = ["board", "rig", "sequence", "circuit", "unit"] as const;
export type ComposedKind = (typeof COMPOSED_KINDS)[number];

export interface AtHand {
  /** Name to offer for a new board; null where none fits. */
  readonly name: string | null;
  readonly board: Board | null;
  readonly rig: Rig | null;
  /** The day it is, such as 2026-05-01. */
  readonly today: string;
}

/** What must be there before these questions can be asked. */
export function neededFor(kind: ComposedKind): readonly ("board" | "rig")[] {
  if (kind === "board") return [];
  return kind === "sequence" ? ["board", "rig"] : ["board"];
}

/** Why this file cannot be written by question and answer; null when it can. */
export function refusalOf(kind: ComposedKind, { board }: AtHand): string | null {
  return kind === "circuit" && board !== null ? circuitRefusal(board) : null;
}

/**
 * Questions that end in the text of the file.
 *
 * @throws RangeError when what it needs is not at hand
 */
export function* compose(kind: ComposedKind, atHand: AtHand): Dialogue<string> {
  const { name, board, rig, today } = atHand;
  if (kind === "board") return boardText(yield* askBoard({ name }));
  if (board === null) throw new RangeError(`a ${kind} file needs a board`);
  if (kind === "rig") return rigText(yield* askRig({ board }));
  if (kind === "circuit") return circuitText(yield* askCircuit({ board }));
  if (kind === "unit") return unitText(yield* askUnit({ board, today }));
  if (rig === null) throw new RangeError("a sequence file needs a rig");
  return sequenceText(yield* askSequence({ board, rig }));
}
