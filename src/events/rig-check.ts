/** What a rig check measured and found, as data: what it keeps on disk, and what a run's journal names of it. */
import type { RailName } from "./levels.ts";

/**
 * `quick`: board in place, nothing switched. `full`: nothing on the connector but the loop-back plug,
 * every relay operated.
 */
export type RigCheckDepth = "quick" | "full";

export type RigFaultKind =
  /** A contact that stays closed, or a line that stays where its relay operates it. */
  | "welded contact"
  /** A contact that never closes, or a line that stays where its relay rests. */
  | "open contact"
  | "leaky contact"
  | "bounce"
  | "swapped leads"
  | "open lead"
  | "stuck channel"
  | "floating input"
  | "crosstalk"
  | "reference off"
  | "pick-up"
  | "noise"
  /** A supply, source, load or divider that does not read what the rig file says. */
  | "off its level"
  | "ground shift"
  | "dead-man";

/** One thing that may be wrong, and where: a relay by its rail or line, else a channel. */
export interface RigFault {
  readonly kind: RigFaultKind;
  readonly where: string;
  /** The other lead of a swap, the channel read instead, the neighbour that gets across; else null. */
  readonly other: string | null;
}

export interface RigFinding extends RigFault {
  /** `unfit`: nothing may be judged on this rig until it is mended. */
  readonly severity: "unfit" | "remark";
  /** What was seen, with its volts or milliseconds. */
  readonly seen: string;
  readonly whatToDo: string;
  /** What the same readings would look like as well; empty when they leave one answer. */
  readonly orElse: readonly RigFault[];
}

/** What is closed and operated during a look. */
export interface RigState {
  readonly rails: readonly RailName[];
  /** Lines and loads whose relays are operated. */
  readonly operated: readonly string[];
}

/** Every channel as read in one state: mean codes. */
export interface RigLook {
  readonly state: RigState;
  readonly codes: Readonly<Record<string, number>>;
}

/** Parts of all that a channel moves by which have the frequency of the mains, 0..1. */
export interface Tone {
  readonly part50: number;
  readonly part60: number;
  /** Mean square from one sample to the next over the variance: 2 for noise, near 0 for a slow drift. */
  readonly restless: number;
}

/** What a channel did by itself over some milliseconds, with nothing switched. */
export interface ChannelQuiet {
  readonly channel: string;
  /** Means of windows of whole periods of 50 Hz, codes, in the order they were taken. */
  readonly means50: readonly number[];
  /** The same of windows of whole periods of 60 Hz, which are not of 50 Hz; empty when not taken. */
  readonly means60: readonly number[];
  readonly min: number;
  readonly max: number;
  /** Of a channel that moves; null for one that is quiet, and from a controller without trains. */
  readonly tone: Tone | null;
  /** Amplitude of the hum at the node, volts: half the swing, all of it where one half is cut off. */
  readonly humV: number;
}

/** One contact as it operated or released, seen on one channel at 1 kHz. */
export interface ContactLook {
  /** Rail, line or load. */
  readonly contact: string;
  readonly channel: string;
  readonly move: "operate" | "release";
  /** From the order until the contact first answered, ms; null when the channel did not follow. */
  readonly answeredMs: number | null;
  /** From then until it stood still, ms; resolution is the interval of the samples. */
  readonly bounceMs: number | null;
}

export interface DeadManLook {
  /** In force, ms; null from a bench that does not tell. */
  readonly setMs: number | null;
  /** From the last feed until the controller said that it had fired, ms; null when it did not. */
  readonly firedMs: number | null;
  /** From the last feed until each rail read safe, ms, in the order they fell; null: it did not. */
  readonly falls: readonly { readonly rail: RailName; readonly afterMs: number | null }[];
}

export interface RigFacts {
  readonly depth: RigCheckDepth;
  readonly looks: readonly RigLook[];
  readonly quiet: readonly ChannelQuiet[];
  readonly contacts: readonly ContactLook[];
  readonly deadMan: DeadManLook | null;
}

/** Of a check, what a run names it by. */
export interface RigCheckName {
  /** When it was made, ISO 8601. */
  readonly at: string;
  readonly depth: RigCheckDepth;
  /** First hex digits of the file's SHA-256. */
  readonly id: string;
  readonly fit: boolean;
  /** Between it and the run, ms. */
  readonly ageMs: number;
  /** Whether the rig file is the one that was checked. */
  readonly sameRig: boolean;
}
