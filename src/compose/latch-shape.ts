/** Whether a board is a bare set-reset latch, and which of its names is which. */
import type { Board } from "../formats/board.schema.ts";
import { boardNames } from "../plan/proof-documents.ts";

export interface LatchNames {
  readonly set: string;
  readonly reset: string;
  /** High after set. */
  readonly q: string;
  /** Low after set. */
  readonly qn: string;
}

/** Two NOR stages, each taking one input line and the other's output; else null. */
export function latchShape(board: Board): LatchNames | null {
  const stages = Object.values(board.stages);
  const [a, b] = stages;
  if (a === undefined || b === undefined || stages.length !== 2) return null;
  const { inputLines } = boardNames(board);
  const lineOf = (stage: typeof a, other: typeof a): string | null => {
    const [line, more] = stage.inputs.filter((input) => input !== other.output);
    const isNor = stage.type === "nor" && stage.inputs.includes(other.output);
    return isNor && line !== undefined && more === undefined && inputLines.has(line) ? line : null;
  };
  const lineA = lineOf(a, b);
  const lineB = lineOf(b, a);
  if (lineA === null || lineB === null || lineA === lineB) return null;
  // A high input pulls its own stage low, so set belongs to the stage of the complement.
  const first = { set: lineA, reset: lineB, q: b.output, qn: a.output };
  const second = { set: lineB, reset: lineA, q: a.output, qn: b.output };
  return /^(r|clr|clear|off)/i.test(lineA) ? second : first;
}
