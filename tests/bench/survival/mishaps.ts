/** What befalls a soak in the figure `survival`, and what has to become of it. */
import type { GoOnAfter } from "../../../src/events/soak.ts";

const ALL: readonly GoOnAfter[] = ["link lost", "host crash", "mains cut"];

/** How the program or the bench is struck. */
export type Strike =
  /** The program is no more, from one of its steps to the next. */
  | "killed"
  /** The same in the middle of writing its journal. */
  | "killed in a write"
  /** Mains of computer and controller are cut; the same in the middle of writing. */
  | "mains cut"
  | "mains cut in a write"
  /** The controller alone loses its supply for a moment; its link stays. */
  | "controller cut"
  | "unplugged"
  | "unplugged for good"
  /** Pulled, and found under another name. */
  | "port renamed"
  | "reset EXT"
  | "reset WDT"
  /** The program is killed, and the watchdog bites while nobody looks. */
  | "killed and reset"
  | "trip"
  | "disk full"
  | "held up"
  | "asleep"
  | "clock forwards"
  | "clock back"
  /** Killed, and the clock is set back by an hour before anybody goes on. */
  | "killed, clock back";

export interface Mishap {
  readonly strike: Strike;
  /** Chosen beforehand. */
  readonly chosen: readonly GoOnAfter[];
  /**
   * What has to become of it when a rail is on at that moment: another leg begins; everything stays off; or the run
   * does not even notice.
   */
  readonly outcome: "goes on" | "stays off" | "unmoved";
}

/** Each with what was chosen, and with what was not. */
export const MISHAPS: readonly Mishap[] = [
  { strike: "killed", chosen: ["host crash"], outcome: "goes on" },
  { strike: "killed", chosen: ["link lost"], outcome: "stays off" },
  { strike: "killed in a write", chosen: ["host crash"], outcome: "goes on" },
  { strike: "killed in a write", chosen: ALL, outcome: "goes on" },
  { strike: "mains cut", chosen: ["mains cut"], outcome: "goes on" },
  { strike: "mains cut", chosen: ["host crash"], outcome: "stays off" },
  { strike: "mains cut in a write", chosen: ["mains cut"], outcome: "goes on" },
  { strike: "controller cut", chosen: ["mains cut"], outcome: "goes on" },
  { strike: "controller cut", chosen: ["link lost", "host crash"], outcome: "stays off" },
  { strike: "unplugged", chosen: ["link lost"], outcome: "goes on" },
  { strike: "unplugged", chosen: ["host crash", "mains cut"], outcome: "stays off" },
  { strike: "unplugged for good", chosen: ALL, outcome: "stays off" },
  { strike: "port renamed", chosen: ["link lost"], outcome: "goes on" },
  { strike: "reset EXT", chosen: ALL, outcome: "stays off" },
  { strike: "reset WDT", chosen: ALL, outcome: "stays off" },
  { strike: "killed and reset", chosen: ALL, outcome: "stays off" },
  { strike: "trip", chosen: ALL, outcome: "stays off" },
  { strike: "disk full", chosen: ["link lost", "mains cut"], outcome: "stays off" },
  { strike: "held up", chosen: ["link lost"], outcome: "goes on" },
  { strike: "held up", chosen: ["host crash", "mains cut"], outcome: "stays off" },
  { strike: "asleep", chosen: ["link lost"], outcome: "goes on" },
  { strike: "asleep", chosen: [], outcome: "stays off" },
  { strike: "clock forwards", chosen: [], outcome: "unmoved" },
  { strike: "clock back", chosen: [], outcome: "unmoved" },
  { strike: "killed, clock back", chosen: ["host crash"], outcome: "goes on" },
];

/** After these the program is gone. */
export function isFatal(strike: Strike): boolean {
  return strike.startsWith("killed") || strike.startsWith("mains cut");
}
