/**
 * A soak, or burn-in: one board cycled for hours. What was asked before it began, what each leg of it
 * did, what was counted, every cycle that went wrong with its surroundings, and the readings by which
 * drift is seen. A leg is one time on power, from measured supplies to proved off; a power cycle, a lost
 * link or a crash ends one, and the next begins with a warm-up of its own.
 */
import type { ChannelReading, EndCause, JudgedReading } from "./events.ts";
import type { LevelClass, RailName } from "./levels.ts";
import type { HeaterLowOrder, PatternStep } from "./plan.ts";

/** After what a soak may power up again by itself: chosen beforehand, nothing by default. */
export type GoOnAfter = "link lost" | "host crash" | "mains cut";

/** Fixed before the soak began and never changed on the way: the stopping rule is part of every claim. */
export interface SoakOrder {
  /** Steps of one cycle, in order; their index counts from 0 within the cycle. */
  readonly cycle: readonly PatternStep[];
  /** Ends when it has cycled for so long, ms on power and warm; null: not by time. */
  readonly forMs: number | null;
  /** Ends after so many judged cycles; null: not by count. One of the two is given. */
  readonly cycles: number | null;
  /** Ends after so many errors; null goes on. A steady error always ends it. */
  readonly errorsMax: number | null;
  /** From the start of one cycle to the start of the next; 0: one after the other. */
  readonly everyMs: number;
  /** A full set of readings this often, ms. */
  readonly readEveryMs: number;
  /** Power off and on again: so long on and warm, so long off; null keeps it on. */
  readonly power: { readonly onMs: number; readonly offMs: number } | null;
  /** Standing still between cycles with power on, so often and so long; null never does. */
  readonly dwell: { readonly everyMs: number; readonly forMs: number } | null;
  /** Missing where none are taken. */
  readonly heaterLow?: HeaterLowOrder | undefined;
  readonly goOn: readonly GoOnAfter[];
  /** `unattended`: nobody is at the bench, and the conditions for that were met. */
  readonly attendance: "attended" | "unattended";
}

/** Cycles kept before and after one that went wrong. */
export const NEIGHBOUR_CYCLES = 10;
/** Wrong cycles kept whole in an hour and of a kind (step and net); beyond it they are counted. */
export const KEPT_PER_HOUR = 200;
/** So many wrong cycles on end are a steady error, and end the soak. */
export const STEADY_CYCLES = 20;

/** Volts of one net in one class since the tally before. */
export interface SoakSpan {
  readonly net: string;
  readonly class: LevelClass;
  readonly lowV: number;
  readonly highV: number;
  readonly meanV: number;
  readonly count: number;
}

/** Totals since the run began. What is in a sealed tally is counted; nothing else is. */
export interface SoakCounts {
  /** Cycles in which every required reading was taken and judged. */
  readonly cycles: number;
  /** Of these, with a reading that was not as expected. */
  readonly wrong: number;
  /** Cycles without ground to judge: a reading was missing or a line off its level. In `cycles` none of them. */
  readonly unjudged: number;
  /** Wrong cycles beyond what is kept whole. */
  readonly notKept: number;
  /** How often plate came on. */
  readonly powerCycles: number;
  /** With plate on, and with heaters on, ms. */
  readonly boardMs: number;
  readonly heaterMs: number;
  /** Cycling, warm, ms: what a stopping time counts. */
  readonly cyclingMs: number;
  /** Closings of each output, by line or rail. */
  readonly closings: Readonly<Record<string, number>>;
  /** Exchanges with the controller that had to be asked again. */
  readonly repeats: number;
  /** What else the link did while cycling; missing where nobody counted. */
  readonly link?: SoakLinkUse | undefined;
}

/** What went over the link, and what of it belongs to exchanges that move relays. */
export interface SoakLinkUse {
  readonly bytes: number;
  readonly movingBytes: number;
  /** How long exchanges that move relays were under way, ms. */
  readonly movingMs: number;
  /** Of the exchanges that had to be asked again, such as move relays. */
  readonly movingRepeats: number;
}

/** One cycle as it was read, single conversions: volts by step and net in the order of the plan's steps. */
export interface CycleVolts {
  readonly cycle: number;
  /** Since the run was opened. */
  readonly ms: number;
  /** By step, then by net in the order of its expectations; null without a reading. */
  readonly volts: readonly (readonly (number | null)[])[];
}

/** When a full set of readings was taken. */
export type SetMoment =
  /** In the run of the cycles. */
  | "settled"
  /** In the first cycle after standing still or after warm-up. */
  | "first on"
  /** First and last of a leg. */
  | "begin"
  | "end"
  /** With the heaters low: no cycle, and out of the verdict. */
  | "heater low";

export type SoakEvent =
  | {
      readonly kind: "leg-begun";
      /** Counts from 1. */
      readonly leg: number;
      readonly why: "first" | "power cycle" | GoOnAfter;
      readonly wall: string;
      /** Between the last sealed line and this leg; null where no clock can tell. */
      readonly gapMs: number | null;
      /** Bytes of a last line that was never sealed whole, dropped. */
      readonly tornBytes: number;
    }
  | {
      readonly kind: "leg-ended";
      readonly leg: number;
      readonly cause: EndCause | "power cycle";
      readonly detail: string;
      /** Whether every rail of it was proved off. */
      readonly provedOff: boolean;
      /** Where the link broke: whether relays were moving at that moment. Missing where that is not known. */
      readonly brokeOffMoving?: boolean | undefined;
    }
  | {
      readonly kind: "soak-tally";
      readonly counts: SoakCounts;
      readonly spans: readonly SoakSpan[];
    }
  | {
      readonly kind: "soak-readings";
      /** Counts from 1 over the whole run. */
      readonly set: number;
      readonly cycle: number;
      readonly moment: SetMoment;
      /** Since plate came on in this leg. */
      readonly onMs: number;
      /** Nets as judged, averaged as in a proof, step by step of the cycle. */
      readonly steps: readonly {
        readonly step: number;
        readonly readings: readonly JudgedReading[];
      }[];
      /** Board sides and currents of the rails. */
      readonly rails: readonly ChannelReading[];
      /** The converter's reference as measured; null where the rig does not. */
      readonly referenceV: number | null;
      /** At the rig's sensor; null where it has none. */
      readonly celsius: number | null;
    }
  | {
      readonly kind: "cycle-error";
      /** Counts from 1 over the whole run. */
      readonly error: number;
      readonly cycle: number;
      readonly step: number;
      readonly onMs: number;
      readonly wall: string;
      /** Readings of the step that were not as expected first, then the others of that step. */
      readonly readings: readonly JudgedReading[];
      /** That cycle, as far as it came. */
      readonly own: CycleVolts;
      /** Oldest first, at most NEIGHBOUR_CYCLES. */
      readonly before: readonly CycleVolts[];
      readonly rails: readonly ChannelReading[];
      readonly referenceV: number | null;
      readonly celsius: number | null;
      /** What else happened at that moment: an exchange asked again, a relay that moved just before. */
      readonly repeats: number;
      readonly moved: readonly string[];
    }
  | {
      /** The cycles after an error, once they are there. */
      readonly kind: "cycle-error-after";
      readonly error: number;
      readonly after: readonly CycleVolts[];
    }
  | {
      /** From here on a rail is held to this window, as its supply is turned to a share of its volts. */
      readonly kind: "window-moved";
      readonly rail: RailName;
      readonly share: number;
      readonly window: { readonly lowV: number; readonly highV: number };
    }
  | {
      /** The wall clock and the monotonic one part: a clock that was set, or a host that slept. */
      readonly kind: "clock-step";
      readonly wall: string;
      /** Wall time gone less monotonic time gone since they were last compared. */
      readonly stepMs: number;
    };
