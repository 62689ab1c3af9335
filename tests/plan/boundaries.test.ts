/** A limit met exactly is not exceeded: what may be written up to the last volt and millisecond. */
import { describe, expect, it } from "vitest";
import { problemLine } from "../../src/formats/problem.ts";
import { ACCEPTED_CASES } from "./accepted-cases.ts";
import { PROOF_TEXTS, resolveTexts, spoil } from "./proof-texts.ts";

describe("resolvePlan() accepts", () => {
  it.each(ACCEPTED_CASES)("$what", ({ file, changes }) => {
    const text = changes.reduce((so, [from, to]) => spoil(so, from, to), PROOF_TEXTS[file]);
    const result = resolveTexts({ ...PROOF_TEXTS, [file]: text });
    expect(result.ok ? [] : result.problems.map(problemLine)).toEqual([]);
  });
});

describe("a board without bias", () => {
  const board = PROOF_TEXTS.board.replace(/^ {2}bias:.*\n/m, "");
  const rig = PROOF_TEXTS.rig.replace(/^.*rail: bias.*\n/gm, "");

  it("may have no bias pin", () => {
    const result = resolveTexts({ ...PROOF_TEXTS, board, rig });
    expect(result.ok ? [] : result.problems.map(problemLine)).toEqual([
      "board.yaml:17:31: bias: the board declares no bias rail; declare it under rails, or remove the pin",
    ]);
  });

  it("takes no bias output, bias channel, source from bias or load to bias", () => {
    const bare = spoil(board, `"2": bias, `, "");
    const spoilt = spoil(
      spoil(PROOF_TEXTS.rig, "loadOhm: 330000, to: common", "loadOhm: 330000, to: bias"),
      "line: SET\n    drive: changeover\n    released: { level: low, sourceV: 0",
      "line: SET\n    drive: changeover\n    released: { level: low, from: bias, sourceV: -1",
    );
    const result = resolveTexts({ ...PROOF_TEXTS, board: bare, rig: spoilt });
    const found = result.ok ? [] : result.problems.map(({ line, code }) => [line, code]);
    expect(found).toEqual([
      [11, "NAME_UNKNOWN"],
      [16, "NAME_UNKNOWN"],
      [16, "CEILING_EXCEEDED"],
      [23, "NAME_UNKNOWN"],
      [27, "NAME_UNKNOWN"],
      [28, "NAME_UNKNOWN"],
      [33, "RANGE_CLIPS"],
    ]);
  });
});
