/**
 * The journal's event types. Every layer speaks these; nothing else holds run state that matters.
 *
 * Format `holdfast-journal`, version 4. Version 1 knew no hand mode, freeze or standby, version 2 no
 * uncertainty and no conditional result, version 3 no soak; all are still read. An event is sealed as one line of NDJSON with its sequence
 * number, monotonic time and the hash of the line before (src/journal).
 */
import type {
  DrivenLevel,
  LevelClass,
  NoReadingReason,
  RailName,
  ResultClass,
  Verdict,
} from "./levels.ts";
import type { Plan } from "./plan.ts";
import type { RigCheckName, RigFacts, RigFinding } from "./rig-check.ts";
import type { SoakEvent, SoakOrder } from "./soak.ts";
import type { TaughtBefore } from "./unit-history.ts";

export const JOURNAL_FORMAT = "holdfast-journal";
export const JOURNAL_VERSION = 4;
/** Every version that can be read. */
type JournalVersion = 1 | 2 | 3 | 4;

/** What the run is doing; the word the screen shows. */
export type Phase =
  | "connecting"
  | "checking supplies"
  | "heating"
  | "raising bias"
  | "raising plate"
  | "warming up"
  | "stepping"
  | "holding"
  | "by hand"
  | "walking the relays"
  | "testing the dead-man"
  | "frozen"
  | "standby"
  | "soaking"
  | "dwelling"
  | "heaters low"
  | "power off"
  | "powering down"
  | "ended";

/** One channel as read in one step. volts is null exactly when noReading is not. */
export interface ChannelReading {
  readonly channel: string;
  readonly volts: number | null;
  readonly noReading: NoReadingReason | null;
  readonly sum: number;
  readonly count: number;
  readonly min: number;
  readonly max: number;
  /** Peak to peak over whole mains periods, volts; missing when the channel was not read so. */
  readonly rippleV?: number | undefined;
  /** Highest volts meanwhile; there exactly when rippleV is. */
  readonly highestV?: number | undefined;
  /**
   * Expanded uncertainty of the volts for 95 %, volts; missing where it is not evaluated. Volts are then
   * corrected for what the divider loads the net by, where that is known, and for the ground shift.
   */
  readonly expandedV?: number | undefined;
}

/** Result of one required reading under the rule fixed before the run. */
export interface JudgedReading extends ChannelReading {
  readonly class: LevelClass | null;
  readonly expected: LevelClass;
  readonly result: ResultClass;
  /** `in guard band`: inside its limit, but nearer than its uncertainty. */
  readonly reason:
    | "as expected"
    | "in guard band"
    | "wrong class"
    | "between"
    | "margin short"
    | "no reading"
    | "uncertainty unknown";
  /** The limit that decided, volts, and the room to it; positive is inside. */
  readonly limitV: number | null;
  readonly marginV: number | null;
}

/** One line of an uncertainty budget, as src/measure/uncertainty makes it. */
interface BudgetTerm {
  readonly name: string;
  readonly shape: "normal" | "rectangular" | "arcsine";
  /** Half-width of a bounded one, volts. */
  readonly halfV: number | null;
  /** Standard uncertainty, volts. */
  readonly u: number;
  /** Degrees of freedom; null for a term known beforehand. */
  readonly dof: number | null;
  readonly basis: string;
}

/** The whole of it for one reading. */
export interface ReadingBudget {
  readonly channel: string;
  readonly class: LevelClass;
  /** As judged: corrected for loading and ground shift. */
  readonly volts: number;
  readonly terms: readonly BudgetTerm[];
  readonly u: number;
  /** Effective degrees of freedom; null when nothing rests on few values. */
  readonly dof: number | null;
  readonly k: number;
  readonly expandedV: number;
}

/**
 * How the fall of a rail after switch-off is known. `kept on`: left on, on purpose, for the next run.
 */
export type FallProof = "verified" | "unproved" | "lead lost" | "never raised" | "kept on";

/**
 * `proof` walks the steps and judges; `hand` lets a person move the lines and judges nothing; `rig check`
 * operates every relay with no board on the connector and judges the rig; `soak` cycles for hours.
 */
export type RunMode = "proof" | "hand" | "rig check" | "soak";

/** What a person wrote down about one physical board before the run, from its unit file. */
export interface UnitSheet {
  readonly unit: string;
  /** Tubes by position. `serial` is null where a tube bears none. */
  readonly tubes: readonly {
    readonly position: string;
    readonly tube: string;
    readonly serial: string | null;
  }[];
  /** Cold checks in the order of the file; `value` and `by` are null where left blank. */
  readonly coldChecks: readonly {
    readonly check: string;
    readonly value: string | null;
    readonly by: string | null;
  }[];
}

export type EndCause =
  | "completed"
  | "first fail"
  | "stopped by the person"
  | "signal"
  | "trip"
  | "link lost"
  | "controller restarted"
  | "dead-man"
  | "supply refused"
  | "rig unfit"
  | "not warm"
  | "line off its level"
  | "steady error"
  | "journal fault"
  | "internal fault";

/** A net whose section was not warm when warm-up ended. */
export interface ColdNet {
  readonly net: string;
  /** Last volts read under a pattern that pulls it low; null when that gave no reading. */
  readonly volts: number | null;
  /** That look in full. Missing when the net was never looked at, and in the first journals. */
  readonly reading?: ChannelReading | undefined;
}

export type RunEvent =
  | SoakEvent
  | {
      readonly kind: "run-opened";
      readonly format: typeof JOURNAL_FORMAT;
      readonly version: JournalVersion;
      readonly run: string;
      /** Missing in version 1, which knew proofs only. */
      readonly mode?: RunMode | undefined;
      readonly unit: string | null;
      readonly unitSheet?: UnitSheet | undefined;
      readonly bench: string;
      readonly seed: number | null;
      readonly wall: string;
      readonly program: string;
      readonly rule: string;
      readonly plan: Plan;
      /** The newest full check of this rig; null when there is none, missing where nobody asked. */
      readonly rigCheck?: RigCheckName | null | undefined;
      /** There exactly in a soak. */
      readonly soak?: SoakOrder | undefined;
      /** Missing where no earlier soak of the unit taught anything. */
      readonly taught?: TaughtBefore | undefined;
    }
  | {
      readonly kind: "controller";
      readonly model: string;
      readonly serial: string;
      readonly firmware: string;
      readonly resetCause: string;
      readonly bootCount: number;
    }
  | { readonly kind: "phase"; readonly phase: Phase }
  | {
      readonly kind: "rail-switched";
      readonly rail: RailName;
      readonly on: boolean;
      /** Taken over from the run before, which had it on for this long; missing when switched now. */
      readonly takenOverMs?: number | undefined;
    }
  | {
      readonly kind: "gate";
      /** `source`: measured before it reaches the board; `board`: after the relay. */
      readonly gate: "source" | "board";
      readonly rail: RailName;
      readonly reading: ChannelReading;
      readonly lowV: number;
      readonly highV: number;
      readonly open: boolean;
      readonly waitedMs: number;
    }
  | { readonly kind: "trips-armed"; readonly armed: boolean }
  | { readonly kind: "lines"; readonly set: Readonly<Record<string, DrivenLevel>> }
  | {
      /** Periodic look at the rails, and at any other channel read in passing. */
      readonly kind: "watch";
      readonly readings: readonly ChannelReading[];
    }
  | {
      readonly kind: "net-warm";
      readonly net: string;
      readonly volts: number;
      /** Time from heaters on, or from when this run took them over. When plate came later than warm-up this means "valid by". */
      readonly validMs: number;
      readonly steadyMs: number | null;
    }
  | {
      readonly kind: "warm-up-ended";
      readonly warm: boolean;
      readonly tookMs: number;
      readonly cold: readonly ColdNet[];
    }
  | { readonly kind: "step-begun"; readonly step: number; readonly name: string }
  | {
      readonly kind: "reading";
      readonly step: number;
      readonly part: "pattern" | "inactive" | "hold" | "flip";
      readonly readings: readonly JudgedReading[];
    }
  | {
      /** Of the first reading of each judged net in each class: what its U is made of. */
      readonly kind: "budget";
      readonly budget: ReadingBudget;
    }
  | {
      readonly kind: "hold-progress";
      readonly step: number;
      readonly part: "hold" | "flip";
      readonly elapsedMs: number;
      readonly forMs: number;
      /** Reading sets taken so far, none of them failed, and the extremes seen per channel. */
      readonly readingSets: number;
      readonly moves: number;
      readonly worst: Readonly<
        Record<
          string,
          {
            readonly lowV: number;
            readonly highV: number;
            /** Largest expanded uncertainty meanwhile; missing where it is not evaluated. */
            readonly expandedV?: number | undefined;
          }
        >
      >;
    }
  | {
      readonly kind: "step-ended";
      readonly step: number;
      readonly result: ResultClass;
    }
  | {
      readonly kind: "controller-event";
      readonly event: "restarted" | "tripped" | "dead-man" | "link-lost";
      readonly detail: string;
      readonly channel: string | null;
      readonly volts: number | null;
    }
  | { readonly kind: "stop-requested"; readonly by: "person" | "signal"; readonly detail: string }
  | {
      readonly kind: "rail-fall";
      readonly rail: RailName;
      readonly proof: FallProof;
      readonly volts: number | null;
      readonly tookMs: number | null;
    }
  | {
      /** Every net and line as read in hand mode: when a class changes, else about once a second. */
      readonly kind: "hand-reading";
      readonly readings: readonly ChannelReading[];
    }
  | { readonly kind: "hand-begun"; readonly limitMs: number }
  | {
      /** Stopped at a step that did not pass, with power on, for a person to look. */
      readonly kind: "frozen";
      readonly step: number;
      readonly limitMs: number;
      /** Line raised as a trigger for an oscilloscope at each turn, null without one. */
      readonly trigger: string | null;
    }
  | {
      /** A step repeated while frozen. It is judged and shown, and counts for no verdict. */
      readonly kind: "freeze-turn";
      readonly step: number;
      /** Counts from 1. */
      readonly turn: number;
      readonly result: ResultClass;
      readonly readings: readonly JudgedReading[];
    }
  | { readonly kind: "freeze-loop"; readonly from: number; readonly to: number | null }
  | { readonly kind: "thawed"; readonly why: "let go" | "time over" }
  | {
      /** Plate and bias are off and proved off, heaters are kept on for the next run. */
      readonly kind: "standby-begun";
      readonly limitMs: number;
      /** How the run would close now. */
      readonly verdict: Verdict;
    }
  | {
      readonly kind: "standby-ended";
      readonly why: "next run" | "let go" | "time over";
    }
  | {
      /** What this run found out about the rig, before energising or in a check of its own. */
      readonly kind: "rig-checked";
      readonly facts: RigFacts;
      readonly findings: readonly RigFinding[];
      readonly fit: boolean;
    }
  | { readonly kind: "remark"; readonly text: string }
  | {
      readonly kind: "fault";
      readonly code: string;
      readonly message: string;
      readonly net: string | null;
    }
  | {
      readonly kind: "run-closed";
      readonly cause: EndCause;
      readonly detail: string;
      readonly verdict: Verdict;
      readonly wall: string;
    };

/** One sealed line as read back. */
export interface JournalEntry {
  /** Sequence number from 0. */
  readonly n: number;
  /** Monotonic milliseconds since the run was opened. */
  readonly ms: number;
  /** SHA-256 in hex of the line before, or of nothing for the first. */
  readonly before: string;
  readonly event: RunEvent;
}
