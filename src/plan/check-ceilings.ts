/**
 * The ceiling check: no rail, window, supply or line source of a proof may ask for more volts than
 * the board, its tubes and the relay contacts bear. Owned here and nowhere else; what it refuses
 * never moves a relay.
 */
import type { RailName } from "../events/levels.ts";
import { volts } from "./divider-range.ts";
import type { ProblemList } from "./problem-list.ts";
import {
  type BoardAlone,
  type BoardAndRig,
  type BoardRail,
  boardRails,
} from "./proof-documents.ts";

/** Every way in which the files ask for more than a ceiling, or contradict their own limits. */
export function checkCeilings(documents: BoardAndRig, problems: ProblemList): void {
  checkBoardCeilings(documents, problems);
  checkRailSources(documents, problems);
  checkLineSources(documents, problems);
  checkLoadContacts(documents, problems);
}

/** Every way in which a board file contradicts its own limits. */
export function checkBoardCeilings(documents: BoardAlone, problems: ProblemList): void {
  for (const { rail, limits } of boardRails(documents.board.value)) {
    checkRailLimits({ documents, rail, limits, problems });
  }
  checkBetweenRails(documents, problems);
  checkHeaterToCathode(documents, problems);
}

interface RailCheck {
  readonly documents: BoardAlone;
  readonly rail: RailName;
  readonly limits: BoardRail;
  readonly problems: ProblemList;
}

function checkRailLimits({ documents: { board }, rail, limits, problems }: RailCheck): void {
  const sign = rail === "bias" ? -1 : 1;
  const word = sign < 0 ? "negative" : "positive";
  const at = ["rails", rail];
  const [lowV, highV] = limits.windowV;
  const signed = [
    { path: ["nominalV"], value: limits.nominalV },
    { path: ["windowV", 0], value: lowV },
    { path: ["windowV", 1], value: highV },
    { path: ["ceilingV"], value: limits.ceilingV },
  ];
  const wrong = signed.filter(({ value }) => value * sign <= 0);
  for (const { path } of wrong) {
    problems.add(board, [...at, ...path], {
      code: "LIMITS_DISAGREE",
      reason: `the ${rail} rail is ${word} to common, expected a ${word} value`,
      whatToDo: "mend the sign",
    });
  }
  if (wrong.length > 0) return;
  if (lowV >= highV) {
    problems.add(board, [...at, "windowV", 1], {
      code: "LIMITS_DISAGREE",
      reason: `the window ends at ${volts(highV)} and begins at ${volts(lowV)}, expected the lower end first`,
      whatToDo: "put the lower end first; for bias that is the more negative one",
    });
    return;
  }
  if (limits.nominalV < lowV || limits.nominalV > highV) {
    problems.add(board, [...at, "nominalV"], {
      code: "LIMITS_DISAGREE",
      reason: `outside the window ${volts(lowV)} to ${volts(highV)}`,
      whatToDo: "move nominalV or the window",
    });
  }
  const farEnd = sign < 0 ? 0 : 1;
  if (Math.abs(limits.windowV[farEnd]) >= Math.abs(limits.ceilingV)) {
    problems.add(board, [...at, "windowV", farEnd], {
      code: "CEILING_EXCEEDED",
      reason: `the window reaches the ceiling of ${volts(limits.ceilingV)}`,
      whatToDo: "end the window inside the ceiling",
    });
  }
  const nearV = Math.min(Math.abs(lowV), Math.abs(highV));
  if (limits.safeV < nearV) return;
  problems.add(board, [...at, "safeV"], {
    code: "LIMITS_DISAGREE",
    reason: `a rail in its window (from ${volts(nearV)}) would count as off`,
    whatToDo: "choose safeV below the window",
  });
}

function checkBetweenRails({ board }: BoardAlone, problems: ProblemList): void {
  const rails = boardRails(board.value);
  const mostV = board.value.ceilings.betweenRailsV;
  for (const [index, a] of rails.entries()) {
    for (const b of rails.slice(index + 1)) {
      // Trips watch each rail by itself, so the worst they allow is both at their ceilings.
      const apartV = Math.abs(a.limits.ceilingV - b.limits.ceilingV);
      if (apartV <= mostV) continue;
      problems.add(board, ["ceilings", "betweenRailsV"], {
        code: "CEILING_EXCEEDED",
        reason: `${b.rail} at ${volts(b.limits.ceilingV)} and ${a.rail} at ${volts(a.limits.ceilingV)} are ${volts(apartV)} apart, more than ${volts(mostV)}`,
        whatToDo: "lower a rail's ceiling, or raise this one if tubes and connector bear it",
      });
    }
  }
}

function checkHeaterToCathode({ board }: BoardAlone, problems: ProblemList): void {
  const { rails, ceilings, cathodesV = [0, 0] } = board.value;
  const [lowV, highV] = cathodesV;
  if (lowV > highV) {
    problems.add(board, ["cathodesV", 1], {
      code: "LIMITS_DISAGREE",
      reason: `the highest cathode is at ${volts(highV)} and the lowest at ${volts(lowV)}`,
      whatToDo: "put the lower one first",
    });
  }
  // Somewhere along a heater string every volt from common to the supply occurs.
  const ends = [0, rails.heater.ceilingV];
  const worstV = Math.max(...ends.flatMap((end) => cathodesV.map((at) => Math.abs(end - at))));
  if (worstV <= ceilings.heaterToCathodeV) return;
  problems.add(board, ["ceilings", "heaterToCathodeV"], {
    code: "CEILING_EXCEEDED",
    reason: `the heater string may be ${volts(worstV)} from a cathode, more than ${volts(ceilings.heaterToCathodeV)}`,
    whatToDo: "lower the heater ceiling, or bias the heaters towards the cathodes",
  });
}

function checkRailSources({ board, rig }: BoardAndRig, problems: ProblemList): void {
  rig.value.outputs.forEach((output, index) => {
    if (output.drive !== "relay") return;
    const limits = board.value.rails[output.rail];
    if (limits === undefined) return;
    const at = ["outputs", index, "sourceV"];
    const [lowV, highV] = limits.windowV;
    const { sourceV } = output;
    const beyond = Math.abs(sourceV) > Math.abs(limits.ceilingV);
    if (beyond) {
      problems.add(rig, at, {
        code: "CEILING_EXCEEDED",
        reason: `the ${output.rail} supply is set to ${volts(sourceV)}, beyond the board's ceiling of ${volts(limits.ceilingV)}`,
        whatToDo: "set the supply lower, or use the rig made for this board",
      });
    } else if (sourceV < lowV || sourceV > highV) {
      problems.add(rig, at, {
        code: "LIMITS_DISAGREE",
        reason: `the ${output.rail} supply is set to ${volts(sourceV)}, outside the board's window ${volts(lowV)} to ${volts(highV)}`,
        whatToDo: "set the supply inside the window",
      });
    }
    const contactV = Math.max(Math.abs(sourceV), Math.abs(limits.ceilingV));
    if (contactV <= rig.value.contactDcV) return;
    problems.add(rig, at, {
      code: "CEILING_EXCEEDED",
      reason: `the contact may have to break ${volts(contactV)} (${output.rail} ceiling), more than its DC rating of ${volts(rig.value.contactDcV)}`,
      whatToDo: "use contacts of a higher DC rating, or lower the ceiling",
    });
  });
}

function checkLineSources({ board, rig }: BoardAndRig, problems: ProblemList): void {
  const plateCeilingV = board.value.rails.plate.ceilingV;
  const biasCeilingV = board.value.rails.bias?.ceilingV ?? 0;
  rig.value.outputs.forEach((output, index) => {
    if (output.drive !== "changeover") return;
    for (const position of ["released", "operated"] as const) {
      const { sourceV, from } = output[position];
      const at = ["outputs", index, position, "sourceV"];
      if (sourceV > plateCeilingV || sourceV < biasCeilingV) {
        problems.add(rig, at, {
          code: "CEILING_EXCEEDED",
          reason: `line ${output.line} would be driven to ${volts(sourceV)}, outside ${volts(biasCeilingV)} to ${volts(plateCeilingV)}, the ceilings of bias and plate`,
          whatToDo: "take the source from inside the board's supplies",
        });
      }
      if (from !== undefined && board.value.rails[from] === undefined) {
        problems.add(rig, ["outputs", index, position, "from"], {
          code: "NAME_UNKNOWN",
          reason: "the board declares no such rail",
          whatToDo: "take the source from a rail of the board, or leave `from` out",
        });
      }
      const supply = rig.value.outputs.find(
        (other) => other.drive === "relay" && other.rail === from,
      );
      if (from === undefined || supply?.drive !== "relay") continue;
      const inside = sourceV * supply.sourceV >= 0 && Math.abs(sourceV) <= Math.abs(supply.sourceV);
      if (inside) continue;
      problems.add(rig, at, {
        code: "LIMITS_DISAGREE",
        reason: `${volts(sourceV)} cannot be taken from the ${from} supply of ${volts(supply.sourceV)}`,
        whatToDo: "mend sourceV or from",
      });
    }
    const apartV = Math.abs(output.released.sourceV - output.operated.sourceV);
    if (apartV <= rig.value.contactDcV) return;
    problems.add(rig, ["outputs", index, "line"], {
      code: "CEILING_EXCEEDED",
      reason: `its contact has ${volts(apartV)} across it, more than its DC rating of ${volts(rig.value.contactDcV)}`,
      whatToDo: "use contacts of a higher DC rating",
    });
  });
}

function checkLoadContacts({ board, rig }: BoardAndRig, problems: ProblemList): void {
  const rails = board.value.rails;
  rig.value.outputs.forEach((output, index) => {
    if (output.drive !== "load") return;
    const limits = output.to === "common" ? null : rails[output.to];
    if (limits === undefined) {
      problems.add(rig, ["outputs", index, "to"], {
        code: "NAME_UNKNOWN",
        reason: "the board declares no such rail",
        whatToDo: "connect the load to a rail of the board or to common",
      });
      return;
    }
    // An open contact has the whole way across it, from common or plate to the load's far end.
    const farV = limits?.ceilingV ?? 0;
    const acrossV = Math.max(Math.abs(farV), Math.abs(rails.plate.ceilingV - farV));
    if (acrossV <= rig.value.contactDcV) return;
    problems.add(rig, ["outputs", index, "to"], {
      code: "CEILING_EXCEEDED",
      reason: `its contact may have ${volts(acrossV)} across it, more than its DC rating of ${volts(rig.value.contactDcV)}`,
      whatToDo: "use contacts of a higher DC rating",
    });
  });
}
