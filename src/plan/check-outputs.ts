/** Whether the outputs of a rig fit its board and the controller: numbers, names, levels. */
import { volts } from "./divider-range.ts";
import { CONTRACT_DRIVE_FRACTION, drivenVolts } from "./drive-level.ts";
import { FIXED_RAIL_WIRING, LINE_OUTPUTS } from "./fixed-wiring.ts";
import type { ProblemList } from "./problem-list.ts";
import {
  type BoardAndRig,
  type BoardNames,
  boardRails,
  nameList,
  RESERVED_NAMES,
} from "./proof-documents.ts";

/** Every way in which an output fits neither the board nor the controller, apart from ceilings. */
export function checkOutputs(
  documents: BoardAndRig,
  names: BoardNames,
  problems: ProblemList,
): void {
  const { board, rig } = documents;
  if (rig.value.board !== board.value.board) {
    problems.add(rig, ["board"], {
      code: "OTHER_BOARD",
      reason: `this rig is wired for another board, expected ${board.value.board}`,
      whatToDo: "use the rig of this board",
    });
  }
  checkOutputNumbers(documents, problems);
  checkOutputNames(documents, names, problems);
  checkOutputsPresent(documents, names, problems);
  checkDrivenLevels(documents, problems);
}

function checkOutputNumbers({ rig }: BoardAndRig, problems: ProblemList): void {
  const users = new Map<number, string>();
  rig.value.outputs.forEach((output, index) => {
    const at = ["outputs", index, "output"];
    const drives = output.drive === "relay" ? output.rail : output.line;
    const other = users.get(output.output);
    if (other !== undefined) {
      problems.add(rig, at, {
        code: "NAME_TWICE",
        reason: `output ${output.output} drives ${other} already`,
        whatToDo: "give each rail and line its own output",
      });
    }
    users.set(output.output, drives);
    if (output.drive === "relay") {
      const fixed = FIXED_RAIL_WIRING[output.rail].output;
      if (output.output === fixed) return;
      problems.add(rig, at, {
        code: "WIRING_FIXED",
        reason: `the controller switches ${output.rail} by output ${fixed}, since it keeps the order by itself`,
        whatToDo: `wire ${output.rail} to output ${fixed}`,
      });
      return;
    }
    if (output.output >= LINE_OUTPUTS.first && output.output <= LINE_OUTPUTS.last) return;
    problems.add(rig, at, {
      code: "WIRING_FIXED",
      reason: `lines and loads are on outputs ${LINE_OUTPUTS.first} to ${LINE_OUTPUTS.last} of the controller`,
      whatToDo: "choose one of these",
    });
  });
}

function checkOutputNames(documents: BoardAndRig, names: BoardNames, problems: ProblemList): void {
  const { board, rig } = documents;
  const users = new Map<string, number>();
  rig.value.outputs.forEach((output, index) => {
    const key = output.drive === "relay" ? "rail" : "line";
    const name = output.drive === "relay" ? output.rail : output.line;
    const at = ["outputs", index, key];
    const other = users.get(name);
    if (other !== undefined) {
      problems.add(rig, at, {
        code: "NAME_TWICE",
        reason: `output ${other} drives it already`,
        whatToDo: "drive each rail and line once",
      });
    }
    users.set(name, output.output);
    if (output.drive === "relay") {
      if (board.value.rails[output.rail] !== undefined) return;
      problems.add(rig, at, {
        code: "NAME_UNKNOWN",
        reason: "the board declares no such rail",
        whatToDo: "remove the output, or use the rig of this board",
      });
      return;
    }
    if (output.drive === "trigger") {
      checkTrigger(documents, names, { index, name }, problems);
      return;
    }
    if (output.drive === "changeover") {
      if (names.inputLines.has(name)) return;
      const why = names.stageOutputs.has(name)
        ? "a stage drives this net, so a source would fight it"
        : `not an input of the board, which has ${nameList(names.inputLines)}`;
      const whatToDo = "drive an input";
      problems.add(rig, at, {
        code: "NAME_UNKNOWN",
        reason: why,
        whatToDo,
        known: names.inputLines,
      });
      return;
    }
    const net = names.loads.get(name);
    if (net === undefined) {
      problems.add(rig, at, {
        code: "NAME_UNKNOWN",
        reason: `not a load of the board, which has ${nameList(names.loads.keys())}`,
        whatToDo: "name one of these",
        known: names.loads.keys(),
      });
    } else if (net !== output.net) {
      problems.add(rig, ["outputs", index, "net"], {
        code: "NAME_UNKNOWN",
        reason: `the board hangs load ${name} on net ${net}`,
        whatToDo: `write ${net}`,
      });
    }
  });
}

/** A trigger goes to an instrument: one at most, and not by a name that the board uses. */
function checkTrigger(
  { rig }: BoardAndRig,
  names: BoardNames,
  { index, name }: { readonly index: number; readonly name: string },
  problems: ProblemList,
): void {
  const first = rig.value.outputs.findIndex((output) => output.drive === "trigger");
  if (first !== index) {
    problems.add(rig, ["outputs", index, "drive"], {
      code: "NAME_TWICE",
      reason: "a second trigger, expected one at most",
      whatToDo: "remove one of them",
    });
  }
  const taken = names.nets.has(name) || names.inputLines.has(name) || names.loads.has(name);
  if (!taken && !RESERVED_NAMES.has(name)) return;
  problems.add(rig, ["outputs", index, "line"], {
    code: "NAME_TWICE",
    reason: "a trigger drives nothing on the board, and the board uses this name",
    whatToDo: "give the trigger a name of its own, such as SCOPE",
  });
}

function checkOutputsPresent(
  { board, rig }: BoardAndRig,
  names: BoardNames,
  problems: ProblemList,
): void {
  const driven = new Set(
    rig.value.outputs.map((output) => (output.drive === "relay" ? output.rail : output.line)),
  );
  for (const { rail } of boardRails(board.value)) {
    if (driven.has(rail)) continue;
    problems.add(rig, ["outputs"], {
      code: "OUTPUT_MISSING",
      part: "key",
      reason: `no output switches the ${rail} rail`,
      whatToDo: `add output ${FIXED_RAIL_WIRING[rail].output} for it`,
    });
  }
  for (const line of names.inputLines) {
    if (driven.has(line)) continue;
    problems.add(rig, ["outputs"], {
      code: "OUTPUT_MISSING",
      part: "key",
      reason: `no output drives input ${line}, which would float`,
      whatToDo: "add an output for it",
    });
  }
}

function checkDrivenLevels({ board, rig }: BoardAndRig, problems: ProblemList): void {
  const { vilV, vihV } = board.value.contract;
  rig.value.outputs.forEach((output, index) => {
    if (output.drive !== "changeover") return;
    if (output.released.level === output.operated.level) {
      problems.add(rig, ["outputs", index, "operated", "level"], {
        code: "LIMITS_DISAGREE",
        reason: `line ${output.line} is ${output.operated.level} in both positions`,
        whatToDo: "give one position low and the other high",
      });
    }
    for (const position of ["released", "operated"] as const) {
      const { level } = output[position];
      const lineV = drivenVolts(rig.value, output, position);
      const limitV = level === "low" ? vilV : vihV;
      const marginV = Math.abs(limitV) * CONTRACT_DRIVE_FRACTION;
      const good = level === "low" ? lineV <= limitV + marginV : lineV >= limitV - marginV;
      if (good) continue;
      problems.add(rig, ["outputs", index, position, "sourceV"], {
        code: "LIMITS_DISAGREE",
        reason: `line ${output.line} driven ${level} would stand at ${volts(lineV)}, expected ${level === "low" ? "at or below VIL" : "at or above VIH"} ${volts(limitV)}`,
        whatToDo: "mend the source volts or resistance",
      });
    }
  });
}
