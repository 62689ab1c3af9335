/** Whether the channels by which a rig knows itself can: reference, temperature, the board's common. */
import type { Rig } from "../formats/rig.schema.ts";
import { NET_CHANNELS } from "./fixed-wiring.ts";
import type { ProblemList } from "./problem-list.ts";
import { type BoardAndRig, type BoardNames, channelName, nameList } from "./proof-documents.ts";

/** A reference nearer to the end of the converter's range could be clipped by a low one. */
const REFERENCE_SHARE_MAX = 0.85;
/** The converter's reference is told to one part in so many steps. */
const REFERENCE_SHARE_MIN = 0.2;

/** From here on a net counts as a grid. Ohms. */
const PULLED_OHM_MAX = 500_000;

export function checkRigChannels(
  { board, rig }: BoardAndRig,
  names: BoardNames,
  problems: ProblemList,
): void {
  const users = new Map<number, string>();
  for (const channel of rig.value.channels) users.set(channel.channel, channelName(channel));
  for (const shunt of rig.value.shunts ?? []) users.set(shunt.channel, `${shunt.rail}.current`);
  for (const key of ["reference", "temperature", "ground"] as const) {
    const wired = rig.value[key];
    if (wired === undefined) continue;
    const other = users.get(wired.channel);
    if (other !== undefined) {
      problems.add(rig, [key, "channel"], {
        code: "NAME_TWICE",
        reason: `channel ${wired.channel} reads ${other} already`,
        whatToDo: "give each reading its own channel",
      });
    }
    users.set(wired.channel, key);
    if (wired.channel < NET_CHANNELS.first || wired.channel > NET_CHANNELS.last) {
      problems.add(rig, [key, "channel"], {
        code: "WIRING_FIXED",
        reason: `channels 1 to ${NET_CHANNELS.first - 1} are for the rails`,
        whatToDo: `choose one of ${NET_CHANNELS.first} to ${NET_CHANNELS.last}`,
      });
    }
  }
  checkRule({ board, rig }, problems);
  checkPullUps({ board, rig }, names, problems);
  checkLoopback(rig, problems);
  checkReference(rig.value, (reason, whatToDo) =>
    problems.add(rig, ["reference", "volts"], { code: "RANGE_CLIPS", reason, whatToDo }),
  );
  for (const net of Object.keys(board.value.sources ?? {})) {
    if (names.nets.has(net)) continue;
    problems.add(board, ["sources", net], {
      code: "NAME_UNKNOWN",
      reason: `not a net of the board, which has ${nameList(names.nets)}`,
      whatToDo: "name a net",
      known: [...names.nets],
    });
  }
}

/**
 * A divider with a pull-up is a current into the net. Behind a plate it is a small error; a grid behind
 * megohms is lifted by it, and the board is no longer the one that was built.
 */
function checkPullUps({ board, rig }: BoardAndRig, names: BoardNames, problems: ProblemList): void {
  rig.value.channels.forEach((channel, index) => {
    if (!("net" in channel) || channel.pullUpOhm === undefined) return;
    const source = board.value.sources?.[channel.net];
    const ohm = source === undefined ? null : Math.max(source.lowOhm, source.highOhm);
    const isDriven = names.stageOutputs.has(channel.net);
    if (ohm === null ? isDriven : ohm < PULLED_OHM_MAX) return;
    problems.add(rig, ["channels", index, "pullUpOhm"], {
      code: "VALUE_REFUSED",
      reason:
        ohm === null
          ? `${channel.net} is no stage's output and the board file does not say what it stands behind: a pull-up would lift a grid`
          : `${channel.net} stands behind ${Math.round(ohm / 1000)} k, and a pull-up lifts it`,
      whatToDo: `read a net of less than ${PULLED_OHM_MAX / 1000} k, or say in sources of the board file what this one has`,
    });
  });
}

/** The plug joins what has a lead each; a lead on two lines would read neither. */
function checkLoopback(rig: BoardAndRig["rig"], problems: ProblemList): void {
  const { outputs, channels, loopback = [] } = rig.value;
  const lines = outputs.flatMap((one) => (one.drive === "changeover" ? [one.line] : []));
  const nets = channels.flatMap((one) => ("net" in one ? [one.net] : []));
  const seen = new Set<string>();
  for (const [index, { line, net }] of loopback.entries()) {
    for (const [key, name, known] of [
      ["line", line, lines],
      ["net", net, nets],
    ] as const) {
      if (known.includes(name)) continue;
      problems.add(rig, ["loopback", index, key], {
        code: "NAME_UNKNOWN",
        reason: `not a ${key} with a lead of its own, of which this rig has ${nameList(known)}`,
        whatToDo: `name one of them`,
        known,
      });
    }
    if (seen.has(net)) {
      problems.add(rig, ["loopback", index, "net"], {
        code: "NAME_TWICE",
        reason: `${net} is joined to a line already`,
        whatToDo: "join each net once",
      });
    }
    seen.add(net);
  }
}

/** A guarded rule cannot be kept by a rig that does not know how well it reads. */
function checkRule({ board, rig }: BoardAndRig, problems: ProblemList): void {
  if (board.value.rule !== "guarded" || rig.value.accuracy !== undefined) return;
  problems.add(board, ["rule"], {
    code: "LIMITS_DISAGREE",
    reason: "a guarded rule takes the uncertainty off the limits, and this rig's is not evaluated",
    whatToDo: "add accuracy to the rig file, or write rule: simple",
  });
}

function checkReference(
  { reference, referenceV }: Rig,
  refuse: (reason: string, whatToDo: string) => void,
): void {
  if (reference === undefined) return;
  const share = reference.volts / referenceV;
  if (share >= REFERENCE_SHARE_MIN && share <= REFERENCE_SHARE_MAX) return;
  refuse(
    `${reference.volts} V are ${Math.round(100 * share)} % of the converter's ${referenceV} V, expected ${100 * REFERENCE_SHARE_MIN} to ${100 * REFERENCE_SHARE_MAX} %`,
    "choose a source about the middle of the converter's range",
  );
}
