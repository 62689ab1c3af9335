/** Whether a unit file belongs to the board it is to be proved as, and what was left blank in it. */
import type { UnitSheet } from "../events/events.ts";
import type { Board } from "../formats/board.schema.ts";
import type { LoadedDocument } from "../formats/load-document.ts";
import type { FileProblem } from "../formats/problem.ts";
import type { Unit } from "../formats/unit.schema.ts";
import { ProblemList } from "./problem-list.ts";
import { nameList } from "./proof-documents.ts";

/**
 * Everything that makes this file one of another board. A blank cold check is none of it: whether to
 * go on is for the person at the bench, who is asked before anything is energised.
 */
export function checkUnit(unit: LoadedDocument<Unit>, board: Board): FileProblem[] {
  const problems = new ProblemList();
  const { value } = unit;
  if (value.board !== board.board) {
    problems.add(unit, ["board"], {
      code: "OTHER_BOARD",
      reason: `this unit is another board, expected ${board.board}`,
      whatToDo: "name the file of the unit that is plugged in",
    });
    return problems.sorted();
  }
  if (value.revision !== board.revision) {
    problems.add(unit, ["revision"], {
      code: "OTHER_BOARD",
      reason: `this unit is revision ${value.revision}, the board file is ${board.revision}`,
      whatToDo: "use the board file of its revision: limits may differ",
    });
  }
  const wanted = tubesOf(board);
  for (const [position, { tube }] of Object.entries(value.tubes)) {
    const types = wanted.get(position);
    if (types === undefined) {
      problems.add(unit, ["tubes", position], {
        code: "NAME_UNKNOWN",
        part: "key",
        reason: `no stage of the board is in this socket; sockets are ${nameList(wanted.keys())}`,
        whatToDo: "name one of these",
        known: wanted.keys(),
      });
    } else if (types.size > 0 && !types.has(tube)) {
      problems.add(unit, ["tubes", position, "tube"], {
        code: "LIMITS_DISAGREE",
        reason: `the board is made for ${nameList(types)} in ${position}`,
        whatToDo: "fit that type, or give the board a file of its own with limits for this one",
        known: types,
      });
    }
  }
  for (const position of wanted.keys()) {
    if (Object.hasOwn(value.tubes, position)) continue;
    problems.add(unit, ["tubes"], {
      code: "KEY_MISSING",
      part: "key",
      reason: `nothing is said of the tube in ${position}`,
      whatToDo: `add \`${position}:\``,
    });
  }
  return problems.sorted();
}

/** Sockets of a board with the types its stages name. */
function tubesOf(board: Board): Map<string, Set<string>> {
  const wanted = new Map<string, Set<string>>();
  for (const { position, tube } of Object.values(board.stages)) {
    if (position === undefined) continue;
    const types = wanted.get(position) ?? new Set<string>();
    if (tube !== undefined) types.add(tube);
    wanted.set(position, types);
  }
  return wanted;
}

/** What of a unit file goes into the journal and the record. */
export function unitSheet(unit: Unit): UnitSheet {
  return {
    unit: unit.unit,
    tubes: Object.entries(unit.tubes).map(([position, { tube, serial }]) => ({
      position,
      tube,
      serial: serial ?? null,
    })),
    coldChecks: unit.coldChecks.map(({ check, value, by }) => ({
      check,
      value: value ?? null,
      by: by ?? null,
    })),
  };
}

/** Cold checks nobody filled in or signed, as sentences for the person before power is switched on. */
export function blankColdChecks({ coldChecks }: UnitSheet): string[] {
  if (coldChecks.length === 0) return ["The unit file lists no cold check."];
  return coldChecks.flatMap(({ check, value, by }) => {
    if (value === null) return [`Cold check left blank: ${check}.`];
    return by === null ? [`Cold check without initials: ${check}.`] : [];
  });
}
