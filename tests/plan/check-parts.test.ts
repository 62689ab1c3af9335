/** Parts of stages: named once, one for each input, as many sections as there are; gates without a tube. */
import { describe, expect, it } from "vitest";
import { problemLine } from "../../src/formats/problem.ts";
import { checkBoardAlone } from "../../src/plan/check-alone.ts";
import { documentsOf } from "../logic/expect/walk-texts.ts";
import { PROOF_TEXTS, spoil } from "./proof-texts.ts";

const PARTS_A =
  "parts: { inputs: { SET: D1, Q: D2 }, coupling: R2, gridReturn: R3, section: V1a, load: R1 }";
const PARTS_B =
  "parts: { inputs: { RESET: D3, QN: D4 }, coupling: R5, gridReturn: R6, section: V1b, load: R4 }";

function problems(change: (board: string) => string): string[] {
  const whole = spoil(
    spoil(PROOF_TEXTS.board, "output: QN }", `output: QN, ${PARTS_A} }`),
    "output: Q }",
    `output: Q, ${PARTS_B} }`,
  );
  const { board } = documentsOf({ ...PROOF_TEXTS, board: change(whole) });
  return checkBoardAlone({ board }).map((one) =>
    problemLine(one).replace(/^board\.yaml:\d+:\d+: /, ""),
  );
}

describe("checkBoardAlone, on parts", () => {
  it("takes a board whose stages name a part for each input", () => {
    expect(problems((board) => board)).toEqual([]);
  });

  it("refuses a part that is named twice", () => {
    expect(problems((board) => spoil(board, "QN: D4", "QN: D1"))).toEqual([
      "D1: D1 is a part of stage A already; name each part once; sections that share a plate may share its load",
    ]);
  });

  it("refuses an input without a part, and a part of an input that is none", () => {
    expect(problems((board) => spoil(board, "QN: D4", "SET: D4"))).toEqual([
      "inputs: input QN of stage B has no part; add `QN:` with the part that feeds it",
      "SET: stage B takes no such input, but QN, RESET; name one of these",
    ]);
  });

  it("refuses as many section parts as the stage has not", () => {
    expect(problems((board) => spoil(board, "section: V1b", "section: [V1b, V2b]"))).toEqual([
      "section: 2 sections are named, the stage has 1; name a part for each section of the stage",
    ]);
  });

  it("lets sections that share a plate share its load, and others not", () => {
    const shared = (more: string) =>
      problems((board) =>
        spoil(
          board,
          "loads:",
          `  C: { type: not, tube: ECC82, position: V2, section: a, inputs: [SET], output: ${more} }\nloads:`,
        ),
      );
    expect(shared("QN, sharesPlate: true, parts: { load: R1 }")).toEqual([]);
    expect(shared("K, parts: { load: R1 }")).toEqual([
      "R1: R1 is a part of stage A already; name each part once; sections that share a plate may share its load",
    ]);
  });

  it("takes a gate without a tube, and refuses a tube without a socket and a socket without a section", () => {
    const gate = (facts: string) =>
      problems((board) =>
        spoil(
          board,
          "loads:",
          `  C: { type: diode-or, ${facts}inputs: [SET, RESET], output: K }\nloads:`,
        ),
      );
    expect(gate("")).toEqual([]);
    expect(gate("tube: ECC82, ")).toEqual([
      "ECC82: no socket is named for it; add `position: V1`, or leave tube out for a gate without a tube",
    ]);
    expect(gate("position: V2, ")).toEqual([
      "C: it sits in V2, and no section is named; add `section: a`, or leave position out for a gate without a tube",
    ]);
  });

  it("refuses a steady line that is no input", () => {
    expect(
      problems((board) =>
        spoil(board, "heaterBeforePlateMs", "steadyLines: [SETT]\nheaterBeforePlateMs"),
      ),
    ).toEqual([
      "SETT: no input line of the board, which has RESET, SET; did you mean `SET`? Else name one of these",
    ]);
  });
});
