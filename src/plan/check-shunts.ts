/** Whether the shunts of a rig can tell what the board says of its currents, and heaters are DC. */
import type { RigShunt } from "../formats/rig.schema.ts";
import { readableRange, volts } from "./divider-range.ts";
import { NET_CHANNELS } from "./fixed-wiring.ts";
import type { ProblemList } from "./problem-list.ts";
import { type BoardAndRig, boardRails, channelName } from "./proof-documents.ts";

/** A limit nearer to zero than so many code steps could not be told from it. */
const STEPS_MIN = 4;

export function checkShunts(documents: BoardAndRig, problems: ProblemList): void {
  checkSupplies(documents, problems);
  const { board, rig } = documents;
  const users = new Map(rig.value.channels.map((one) => [one.channel, channelName(one)] as const));
  const shunts = rig.value.shunts ?? [];
  for (const [index, shunt] of shunts.entries()) {
    const at = ["shunts", index];
    const other = users.get(shunt.channel);
    if (other !== undefined) {
      problems.add(rig, [...at, "channel"], {
        code: "NAME_TWICE",
        reason: `channel ${shunt.channel} reads ${other} already`,
        whatToDo: "give each reading its own channel",
      });
    }
    users.set(shunt.channel, `${shunt.rail}.current`);
    if (shunts.findIndex((one) => one.rail === shunt.rail) < index) {
      problems.add(rig, [...at, "rail"], {
        code: "NAME_TWICE",
        reason: `${shunt.rail} has a shunt already`,
        whatToDo: "keep one shunt a rail",
      });
    }
    if (shunt.channel < NET_CHANNELS.first || shunt.channel > NET_CHANNELS.last) {
      problems.add(rig, [...at, "channel"], {
        code: "WIRING_FIXED",
        reason: `shunts are on channels ${NET_CHANNELS.first} to ${NET_CHANNELS.last} of the controller`,
        whatToDo: "choose one of these",
      });
    }
    const limits = board.value.rails[shunt.rail]?.currentMa;
    if (limits === undefined) {
      problems.add(rig, [...at, "rail"], {
        code: "LIMITS_DISAGREE",
        reason: `the board file does not say what ${shunt.rail} may draw, and limits come from files`,
        whatToDo: `add currentMa to the ${shunt.rail} rail of the board`,
      });
      continue;
    }
    if (limits[0] >= limits[1]) {
      problems.add(board, ["rails", shunt.rail, "currentMa"], {
        code: "LIMITS_DISAGREE",
        reason: "the least current is not below the most",
        whatToDo: "put the lower one first",
      });
    }
    checkRange(documents, { shunt, at, limitsMa: limits }, problems);
  }
}

/** A positive supply's return is pulled below common by what it draws, a negative one's above. */
function shuntVolts(shunt: RigShunt, nominalV: number, ma: number): number {
  return ((nominalV > 0 ? -1 : 1) * ma * shunt.ohm) / 1000;
}

interface Ranged {
  readonly shunt: RigShunt;
  readonly at: readonly (string | number)[];
  readonly limitsMa: readonly [low: number, high: number];
}

function checkRange({ board, rig }: BoardAndRig, ranged: Ranged, problems: ProblemList): void {
  const { shunt, at, limitsMa } = ranged;
  const [lowMa, highMa] = limitsMa;
  // A least current of nothing has nothing to be told from.
  const leastMa = lowMa > 0 ? lowMa : highMa;
  const nominalV = board.value.rails[shunt.rail]?.nominalV ?? 0;
  const range = readableRange(shunt, rig.value.referenceV);
  // Half as much again, so that what lies beyond the limit is still a reading.
  const farV = shuntVolts(shunt, nominalV, 1.5 * highMa);
  const [lowV, highV] = [Math.min(0, farV), Math.max(0, farV)];
  if (range.lowV >= lowV || range.highV <= highV) {
    problems.add(rig, [...at, "topOhm"], {
      code: "RANGE_CLIPS",
      reason: `the divider reads ${volts(range.lowV)} to ${volts(range.highV)}, but ${volts(lowV)} to ${volts(highV)} is what ${1.5 * highMa} mA make of ${shunt.ohm} ohm`,
      whatToDo: "choose a smaller shunt, or lower pullUpOhm or raise topOhm",
    });
  }
  if (Math.abs(shuntVolts(shunt, nominalV, leastMa)) >= STEPS_MIN * range.stepV) return;
  problems.add(rig, [...at, "ohm"], {
    code: "RANGE_CLIPS",
    reason: `${leastMa} mA are fewer than ${STEPS_MIN} code steps of ${volts(range.stepV)} at ${shunt.ohm} ohm`,
    whatToDo: "choose a larger shunt",
  });
}

function checkSupplies({ board }: BoardAndRig, problems: ProblemList): void {
  for (const { rail, limits } of boardRails(board.value)) {
    if (limits.supply !== "ac") continue;
    problems.add(board, ["rails", rail, "supply"], {
      code: "VALUE_REFUSED",
      reason:
        "the converter reads DC to common: of an alternating supply it sees half, its windows and trips mean nothing, and its fall cannot be followed",
      whatToDo:
        "feed this rail from DC of the same heating volts, or prove the board on a rig whose heaters are outside it and say so in its notes",
    });
  }
}
