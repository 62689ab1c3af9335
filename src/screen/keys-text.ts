/** The row of keys: those that do something now, the most important first. */
import type { RunSnapshot } from "../journal/snapshot.ts";
import type { Seat } from "./seat.ts";

export interface KeysGiven {
  readonly helpShown: boolean;
  readonly muted: boolean;
  /** False without a keyboard; then only signals stop the run. */
  readonly keysWork: boolean;
  readonly seat: Seat;
  /** The program behind the run is gone: nothing is left to press but leaving. */
  readonly isGone: boolean;
}

const LOOKING_ON = "Looking on, this does not stop the run";

export function keysText(snapshot: RunSnapshot, given: KeysGiven): string {
  const { helpShown, keysWork, seat } = given;
  const leave = seat === "attached" ? "x  leave    " : "";
  const help = `${leave}${helpShown ? "?  back" : "?  help"}`;
  const mute = given.muted ? "    bell muted (m)" : "";
  if (seat === "looking on") {
    return keysWork
      ? `${LOOKING_ON}    q  leave    ${help}${mute}`
      : `${LOOKING_ON}    Ctrl-C  leave`;
  }
  if (given.isGone) return `Nothing reaches this run any more    ${help}${mute}`;
  const isComing = snapshot.stopRequested || snapshot.phase === "powering down";
  if (!keysWork) {
    return isComing ? "Powering down, please wait" : "Ctrl-C  stop and power down safely";
  }
  if (snapshot.phase === "ended") return `${help}${mute}`;
  if (isComing) return `Powering down, please wait    ${help}${mute}`;
  return [...ownKeys(snapshot), help].join("    ") + mute;
}

function ownKeys({ hand, freeze, standby, soak }: RunSnapshot): string[] {
  if (hand !== null) return ["1-9  move a line", "p  pulse", "l  let go", "s  stop"];
  if (freeze !== null) {
    const loop = freeze.loopTo === null ? "o  loop" : "o  loop off";
    return ["r  repeat", loop, "l  let go", "s  stop"];
  }
  if (standby !== null) return ["n  next run", "l  let go", "s  stop"];
  const looks = soak === undefined || soak.errors.length === 0 ? [] : ["v  wrong cycles"];
  return ["s or q  stop and power down safely", ...looks];
}
