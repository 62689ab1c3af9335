/** Unit files against the board they are proved as. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { type Board, loadBoard } from "../../src/formats/board.schema.ts";
import { documentOf, type LoadedDocument } from "../../src/formats/load-document.ts";
import { problemLine } from "../../src/formats/problem.ts";
import { loadUnit, type Unit } from "../../src/formats/unit.schema.ts";
import { blankColdChecks, checkUnit, unitSheet } from "../../src/plan/check-unit.ts";

const folder = join(import.meta.dirname, "../../sequences/flasher-latch");
const shipped = readFileSync(join(folder, "unit.yaml"), "utf8");

function board(): Board {
  const text = readFileSync(join(folder, "board.yaml"), "utf8");
  return documentOf(loadBoard(text, "board.yaml")).value;
}

function unit(from = "", to = ""): LoadedDocument<Unit> {
  if (!shipped.includes(from)) throw new Error(`the shipped unit file has no "${from}"`);
  return documentOf(loadUnit(shipped.replace(from, to), "unit.yaml"));
}

function refusals(from: string, to: string): string[] {
  return checkUnit(unit(from, to), board()).map(problemLine);
}

describe("checkUnit(unit, board)", () => {
  it("takes the shipped unit as the shipped latch, with nothing left blank", () => {
    expect(checkUnit(unit(), board())).toEqual([]);
    expect(blankColdChecks(unitSheet(unit().value))).toEqual([]);
  });

  it("refuses the unit of another board, and says nothing else of it", () => {
    expect(refusals("board: flasher-latch", "board: fog-divider")).toEqual([
      "unit.yaml:4:8: fog-divider: this unit is another board, expected flasher-latch; name the file of the unit that is plugged in",
    ]);
  });

  it("refuses another revision, since its limits may differ", () => {
    expect(refusals("revision: A", "revision: B")).toEqual([
      expect.stringContaining("unit.yaml:5:11: B: this unit is revision B, the board file is A"),
    ]);
  });

  it("refuses a socket that the board does not have, and asks for the one it has", () => {
    expect(refusals("V1: {", "V2: {")).toEqual([
      expect.stringContaining("nothing is said of the tube in V1"),
      expect.stringContaining("unit.yaml:7:3: V2: no stage of the board is in this socket"),
    ]);
  });

  it("refuses a tube that the board's limits were not made for", () => {
    expect(refusals("tube: ECC82", "tube: ECC83")).toEqual([
      expect.stringContaining("the board is made for ECC82 in V1"),
    ]);
  });
});

describe("cold checks", () => {
  it("left blank, or without initials, are named one by one and refuse nothing", () => {
    const blank = unit(", value: 9.9 kOhm, by: AB, date: 2026-05-01", "");
    expect(checkUnit(blank, board())).toEqual([]);
    expect(blankColdChecks(unitSheet(blank.value))).toEqual([
      "Cold check left blank: plate rail to common.",
    ]);
    const unsigned = unit("21.7 kOhm, by: AB", "21.7 kOhm");
    expect(blankColdChecks(unitSheet(unsigned.value))).toEqual([
      "Cold check without initials: bias rail to common.",
    ]);
  });

  it("that are not listed at all are worth a word too", () => {
    const sheet = { ...unitSheet(unit().value), coldChecks: [] };
    expect(blankColdChecks(sheet)).toEqual(["The unit file lists no cold check."]);
  });
});
