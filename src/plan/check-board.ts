/** Whether a board file agrees with itself: names, contract, stages, connector. */

import { checkParts } from "./check-parts.ts";
import { volts } from "./divider-range.ts";
import type { ProblemList } from "./problem-list.ts";
import {
  type BoardAlone,
  type BoardNames,
  boardRails,
  nameList,
  RESERVED_NAMES,
} from "./proof-documents.ts";

/** Every disagreement inside the board file, apart from volts (see check-ceilings.ts). */
export function checkBoard({ board }: BoardAlone, names: BoardNames, problems: ProblemList): void {
  checkContract(board, problems);
  checkStages(board, names, problems);
  checkParts(board, problems);
  checkSteadyLines(board, names, problems);
  checkLoadsAndNets(board, names, problems);
  checkConnector(board, names, problems);
}

type BoardDocument = BoardAlone["board"];

function checkContract(board: BoardDocument, problems: ProblemList): void {
  const { contract, rails } = board.value;
  const order = [
    { low: "volV", high: "vilV", equalAllowed: true },
    { low: "vilV", high: "vihV", equalAllowed: false },
    { low: "vihV", high: "vohV", equalAllowed: true },
  ] as const;
  for (const { low, high, equalAllowed } of order) {
    const lowV = contract[low];
    const highV = contract[high];
    if (lowV < highV || (equalAllowed && lowV === highV)) continue;
    problems.add(board, ["contract", high], {
      code: "LIMITS_DISAGREE",
      reason: `${high} is ${volts(highV)} and ${low} is ${volts(lowV)}, expected volV <= vilV < vihV <= vohV`,
      whatToDo: "put the four levels in order",
    });
  }
  const plateLowV = rails.plate.windowV[0];
  if (contract.vohV < plateLowV) return;
  problems.add(board, ["contract", "vohV"], {
    code: "LIMITS_DISAGREE",
    reason: `no net can reach ${volts(contract.vohV)} with the plate rail at ${volts(plateLowV)}, the low end of its window`,
    whatToDo: "lower vohV or raise the window",
  });
}

function checkStages(board: BoardDocument, names: BoardNames, problems: ProblemList): void {
  const drivenBy = new Map<string, { readonly name: string; readonly isBare: boolean }>();
  const sectionOf = new Map<string, string>();
  for (const [name, stage] of Object.entries(board.value.stages)) {
    const at = ["stages", name];
    stage.inputs.forEach((input, index) => {
      if (names.nets.has(input) || names.inputLines.has(input)) return;
      problems.add(board, [...at, "inputs", index], {
        code: "NAME_UNKNOWN",
        reason: `no stage drives it and it is no input on the connector; stages drive ${nameList(names.stageOutputs)}, inputs are ${nameList(names.inputLines)}`,
        whatToDo: "name one of these, or put it on the connector",
        known: [...names.nets, ...names.inputLines],
      });
    });
    checkNotReserved(board, [...at, "output"], stage.output, problems);
    const other = drivenBy.get(stage.output);
    if (other !== undefined) {
      const isShared = stage.sharesPlate === true;
      if (!isShared || stage.position === undefined || other.isBare) {
        problems.add(board, [...at, "output"], {
          code: "NAME_TWICE",
          reason: `stage ${other.name} drives this net already${isShared ? ", and only tube sections share a plate" : ""}`,
          whatToDo:
            "give each stage its own net; a section whose plate is on another's says `sharesPlate: true`",
        });
      }
    }
    drivenBy.set(stage.output, { name, isBare: stage.position === undefined });
    checkPlace(board, name, problems);
    for (const part of stage.section ?? "") {
      const place = `${stage.position}${part}`;
      const user = sectionOf.get(place);
      if (user !== undefined) {
        problems.add(board, [...at, "section"], {
          code: "NAME_TWICE",
          reason: `section ${place} belongs to stage ${user} already`,
          whatToDo: "give each stage a section of its own",
        });
      }
      sectionOf.set(place, name);
    }
  }
}

/** A socket without a section, or a section, a tube or its parts without a socket. */
function checkPlace(board: BoardDocument, name: string, problems: ProblemList): void {
  const stage = board.value.stages[name];
  if (stage === undefined) return;
  const { position, section, tube } = stage;
  if (position !== undefined && section === undefined) {
    problems.add(board, ["stages", name], {
      code: "KEY_MISSING",
      part: "key",
      reason: `it sits in ${position}, and no section is named`,
      whatToDo: "add `section: a`, or leave position out for a gate without a tube",
    });
  }
  for (const [key, given] of Object.entries({ section, tube })) {
    if (position !== undefined || given === undefined) continue;
    problems.add(board, ["stages", name, key], {
      code: "KEY_MISSING",
      reason: "no socket is named for it",
      whatToDo: `add \`position: V1\`, or leave ${key} out for a gate without a tube`,
    });
  }
}

function checkSteadyLines(board: BoardDocument, names: BoardNames, problems: ProblemList): void {
  for (const [index, line] of (board.value.steadyLines ?? []).entries()) {
    if (names.inputLines.has(line)) continue;
    problems.add(board, ["steadyLines", index], {
      code: "NAME_UNKNOWN",
      reason: `no input line of the board, which has ${nameList(names.inputLines)}`,
      whatToDo: "name one of these",
      known: names.inputLines,
    });
  }
}

function checkLoadsAndNets(board: BoardDocument, names: BoardNames, problems: ProblemList): void {
  for (const [name, load] of Object.entries(board.value.loads ?? {})) {
    checkNotReserved(board, ["loads", name], name, problems, "key");
    if (names.nets.has(name)) {
      problems.add(board, ["loads", name], {
        code: "NAME_TWICE",
        part: "key",
        reason: "this is the name of a net as well",
        whatToDo: "rename the load",
      });
    }
    if (names.nets.has(load.net)) continue;
    problems.add(board, ["loads", name, "net"], {
      code: "NAME_UNKNOWN",
      reason: `not a net of the board, which has ${nameList(names.nets)}`,
      whatToDo: "name one of these",
      known: names.nets,
    });
  }
  for (const name of Object.keys(board.value.nets ?? {})) {
    checkNotReserved(board, ["nets", name], name, problems, "key");
    if (!names.stageOutputs.has(name)) continue;
    problems.add(board, ["nets", name], {
      code: "NAME_TWICE",
      part: "key",
      reason: "a stage's output is a net without being listed",
      whatToDo: "remove it here",
    });
  }
}

function checkConnector(board: BoardDocument, names: BoardNames, problems: ProblemList): void {
  const known = [RESERVED_NAMES, names.nets, names.inputLines, new Set(names.loads.keys())];
  const present = new Set(Object.values(board.value.connector));
  for (const [pin, name] of Object.entries(board.value.connector)) {
    if (name === "bias" && board.value.rails.bias === undefined) {
      problems.add(board, ["connector", pin], {
        code: "NAME_UNKNOWN",
        reason: "the board declares no bias rail",
        whatToDo: "declare it under rails, or remove the pin",
      });
    }
    if (!known.some((set) => set.has(name))) {
      problems.add(board, ["connector", pin], {
        code: "NAME_UNKNOWN",
        reason: "no stage takes it and it is no rail, net or load",
        whatToDo: "mend the name, or declare it under nets or loads",
        known: known.flatMap((set) => [...set]),
      });
    }
  }
  for (const name of ["common", ...boardRails(board.value).map(({ rail }) => rail)]) {
    if (present.has(name)) continue;
    problems.add(board, ["connector"], {
      code: "NAME_UNKNOWN",
      part: "key",
      reason: `no pin carries ${name}`,
      whatToDo: "add the pin",
    });
  }
}

function checkNotReserved(
  board: BoardDocument,
  path: readonly (string | number)[],
  name: string,
  problems: ProblemList,
  part: "key" | "value" = "value",
): void {
  if (!RESERVED_NAMES.has(name)) return;
  problems.add(board, path, {
    code: "NAME_TWICE",
    part,
    reason: `${nameList(RESERVED_NAMES)} are names of supplies`,
    whatToDo: "choose another name",
  });
}
