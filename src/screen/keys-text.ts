/** The row of keys: those that do something now, the most important first. */
import type { RunSnapshot } from "../journal/snapshot.ts";

export interface KeysGiven {
  readonly helpShown: boolean;
  readonly muted: boolean;
  /** False without a keyboard; then only signals stop the run. */
  readonly keysWork: boolean;
  /** A viewer of another program's run; its keys stop nothing. */
  readonly lookingOn: boolean;
}

const LOOKING_ON = "Looking on, this does not stop the run";

export function keysText(snapshot: RunSnapshot, given: KeysGiven): string {
  const { helpShown, keysWork, lookingOn } = given;
  const help = helpShown ? "?  back" : "?  help";
  const mute = given.muted ? "    bell muted (m)" : "";
  if (lookingOn) {
    return keysWork
      ? `${LOOKING_ON}    q  leave    ${help}${mute}`
      : `${LOOKING_ON}    Ctrl-C  leave`;
  }
  const isComing = snapshot.stopRequested || snapshot.phase === "powering down";
  if (!keysWork) {
    return isComing ? "Powering down, please wait" : "Ctrl-C  stop and power down safely";
  }
  if (snapshot.phase === "ended") return `${help}${mute}`;
  if (isComing) return `Powering down, please wait    ${help}${mute}`;
  return [...ownKeys(snapshot), help].join("    ") + mute;
}

function ownKeys({ hand, freeze, standby }: RunSnapshot): string[] {
  if (hand !== null) return ["1-9  move a line", "p  pulse", "l  let go", "s  stop"];
  if (freeze !== null) {
    const loop = freeze.loopTo === null ? "o  loop" : "o  loop off";
    return ["r  repeat", loop, "l  let go", "s  stop"];
  }
  if (standby !== null) return ["n  next run", "l  let go", "s  stop"];
  return ["s or q  stop and power down safely"];
}
