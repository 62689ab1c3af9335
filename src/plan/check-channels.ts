/** Whether the channels of a rig read what must be read: numbers, names, dividers. */
import type { Rig, RigChannel } from "../formats/rig.schema.ts";
import { readableRange, volts } from "./divider-range.ts";
import { FIXED_RAIL_WIRING, NET_CHANNELS } from "./fixed-wiring.ts";
import type { ProblemList } from "./problem-list.ts";
import {
  type BoardAndRig,
  type BoardNames,
  type BoardRail,
  boardRails,
  channelName,
  nameList,
} from "./proof-documents.ts";

/** Every way in which a channel is missing, doubled, wired elsewhere or unable to read. */
export function checkChannels(
  documents: BoardAndRig,
  names: BoardNames,
  problems: ProblemList,
): void {
  checkChannelNames(documents, names, problems);
  checkChannelsPresent(documents, problems);
  checkReadable(documents, problems);
}

function checkChannelNames(
  { board, rig }: BoardAndRig,
  names: BoardNames,
  problems: ProblemList,
): void {
  const byNumber = new Map<number, string>();
  const byName = new Map<string, number>();
  rig.value.channels.forEach((channel, index) => {
    const name = channelName(channel);
    const at = ["channels", index];
    const key = "rail" in channel ? "rail" : "net" in channel ? "net" : "line";
    const other = byNumber.get(channel.channel);
    if (other !== undefined) {
      problems.add(rig, [...at, "channel"], {
        code: "NAME_TWICE",
        reason: `channel ${channel.channel} reads ${other} already`,
        whatToDo: "give each reading its own channel",
      });
    }
    byNumber.set(channel.channel, name);
    const twice = byName.get(name);
    if (twice !== undefined) {
      problems.add(rig, [...at, key], {
        code: "NAME_TWICE",
        reason: `channel ${twice} reads ${name} already`,
        whatToDo: "read each net, line and rail side once",
      });
    }
    byName.set(name, channel.channel);
    const wrong = channelNumberProblem(channel);
    if (wrong !== null) {
      problems.add(rig, [...at, "channel"], {
        code: "WIRING_FIXED",
        reason: wrong,
        whatToDo: "wire it as the controller expects",
      });
    }
    const unknown = unknownReading({ channel, names, board: board.value, rig: rig.value });
    if (unknown === null) return;
    problems.add(rig, [...at, key], {
      code: "NAME_UNKNOWN",
      reason: unknown,
      whatToDo: "name what the lead is on",
      known: [...names.nets, ...names.inputLines],
    });
  });
}

function channelNumberProblem(channel: RigChannel): string | null {
  if ("rail" in channel) {
    const fixed = FIXED_RAIL_WIRING[channel.rail][channel.at];
    if (channel.channel === fixed) return null;
    return `the controller watches ${channel.rail}.${channel.at} on channel ${fixed}`;
  }
  const { first, last } = NET_CHANNELS;
  if (channel.channel >= first && channel.channel <= last) return null;
  return `nets and lines are on channels ${first} to ${last} of the controller`;
}

function unknownReading(facts: {
  readonly channel: RigChannel;
  readonly names: BoardNames;
  readonly board: BoardAndRig["board"]["value"];
  readonly rig: BoardAndRig["rig"]["value"];
}): string | null {
  const { channel, names, board, rig } = facts;
  if ("rail" in channel) {
    return board.rails[channel.rail] === undefined ? "the board declares no such rail" : null;
  }
  if ("net" in channel) {
    if (names.nets.has(channel.net)) return null;
    return `not a net of the board, which has ${nameList(names.nets)}`;
  }
  const output = rig.outputs.find(
    (candidate) => candidate.drive !== "relay" && candidate.line === channel.line,
  );
  if (output?.drive === "changeover") return null;
  if (output?.drive === "trigger") return "a trigger goes to an instrument, not to the board";
  if (output?.drive === "load") return `a load has no level of its own; read net ${output.net}`;
  return "no output of this rig drives such a line";
}

function checkChannelsPresent({ board, rig }: BoardAndRig, problems: ProblemList): void {
  const read = new Set(rig.value.channels.map(channelName));
  for (const { rail } of boardRails(board.value)) {
    for (const at of ["source", "board"] as const) {
      if (read.has(`${rail}.${at}`)) continue;
      problems.add(rig, ["channels"], {
        code: "CHANNEL_MISSING",
        part: "key",
        reason: `no channel reads ${rail}.${at}`,
        whatToDo: `add channel ${FIXED_RAIL_WIRING[rail][at]} for it; every supply is measured before and after its relay`,
      });
    }
  }
  rig.value.outputs.forEach((output, index) => {
    if (output.drive !== "changeover" || read.has(output.line)) return;
    problems.add(rig, ["outputs", index, "line"], {
      code: "CHANNEL_MISSING",
      reason: "no channel reads this driven line back",
      whatToDo: "add a channel with `line:` for it; a stuck contact could not be seen",
    });
  });
}

/**
 * What a channel must be able to read: a rail to its ceiling, where it trips; a net to the plate
 * rail, which it reaches at most; a driven line to its sources as well.
 */
function voltsToRead(
  channel: RigChannel,
  limits: BoardRail,
  rig: Rig,
): { readonly lowV: number; readonly highV: number } {
  const ends = "rail" in channel ? [limits.ceilingV] : [limits.windowV[1]];
  if ("line" in channel) {
    for (const output of rig.outputs) {
      if (output.drive !== "changeover" || output.line !== channel.line) continue;
      ends.push(output.released.sourceV, output.operated.sourceV);
    }
  }
  return { lowV: Math.min(0, ...ends), highV: Math.max(0, ...ends) };
}

function checkReadable({ board, rig }: BoardAndRig, problems: ProblemList): void {
  const { referenceV } = rig.value;
  rig.value.channels.forEach((channel, index) => {
    const limits = "rail" in channel ? board.value.rails[channel.rail] : board.value.rails.plate;
    if (limits === undefined) return;
    const range = readableRange(channel, referenceV);
    const { lowV, highV } = voltsToRead(channel, limits, rig.value);
    const span = `reads ${volts(range.lowV)} to ${volts(range.highV)}`;
    const name = channelName(channel);
    if (range.highV <= highV || (lowV < 0 && range.lowV >= lowV) || range.lowV > lowV) {
      problems.add(rig, ["channels", index, "topOhm"], {
        code: "RANGE_CLIPS",
        reason: `the divider of ${name} ${span} at a reference of ${volts(referenceV)}, but ${volts(lowV)} to ${volts(highV)} must be read`,
        whatToDo: lowV < 0 ? "raise topOhm or add pullUpOhm" : "raise topOhm or lower bottomOhm",
      });
    }
    if (!("rail" in channel) || range.stepV < limits.safeV) return;
    problems.add(rig, ["channels", index, "topOhm"], {
      code: "RANGE_CLIPS",
      reason: `one code step of ${name} is ${volts(range.stepV)}, too coarse for safeV of ${volts(limits.safeV)}`,
      whatToDo: "choose a smaller divider",
    });
  });
}
