/** What can be checked of a board or a rig while the other files of a proof are not there yet. */
import type { FileProblem } from "../formats/problem.ts";
import { checkBoard } from "./check-board.ts";
import { checkBoardCeilings, checkCeilings } from "./check-ceilings.ts";
import { checkChannels } from "./check-channels.ts";
import { checkOutputs } from "./check-outputs.ts";
import { checkRigChannels } from "./check-rig-channels.ts";
import { checkShunts } from "./check-shunts.ts";
import { ProblemList } from "./problem-list.ts";
import {
  type BoardAlone,
  type BoardAndRig,
  type BoardNames,
  boardNames,
} from "./proof-documents.ts";

/** Every way in which a board file disagrees with itself. */
export function checkBoardAlone(documents: BoardAlone): FileProblem[] {
  const problems = new ProblemList();
  checkBoard(documents, boardNames(documents.board.value), problems);
  checkBoardCeilings(documents, problems);
  return problems.sorted();
}

/** The same for a board and the rig wired for it. */
export function checkRigOnBoard(documents: BoardAndRig): FileProblem[] {
  const problems = new ProblemList();
  checkBoardAndRig(documents, boardNames(documents.board.value), problems);
  return problems.sorted();
}

/** Every check that needs no sequence, also as a part of those of a whole proof. */
export function checkBoardAndRig(
  documents: BoardAndRig,
  names: BoardNames,
  problems: ProblemList,
): void {
  checkBoard(documents, names, problems);
  checkCeilings(documents, problems);
  checkOutputs(documents, names, problems);
  checkChannels(documents, names, problems);
  checkShunts(documents, problems);
  checkRigChannels(documents, names, problems);
}
