/**
 * The acceptance record of a run: format `holdfast-record`, version 3. A draft until a person releases
 * it. Its members answer what ISO/IEC 17025:2017, 7.8.2 and 7.8.3, ask of a test report; it is none.
 *
 * It holds no host name, path or account, and no person but who released it, where one is named. Volts
 * are to common; ms are monotonic and count from the opening of the run, or from heaters on where a
 * field says so.
 *
 * A kind of run that has more to tell (a soak, a margin search) gets one optional member here, missing
 * where a run had none of it; a fold beside rail-fold.ts that gathers it event by event; its lines in
 * `RecordFold`; and a section in `recordLines`. Readers of older records then need nothing.
 */
import type {
  EndCause,
  FallProof,
  JudgedReading,
  ReadingBudget,
  RunMode,
  UnitSheet,
} from "../events/events.ts";
import type {
  LevelClass,
  LevelContract,
  RailName,
  ResultClass,
  Verdict,
} from "../events/levels.ts";
import type { PlannedCalibration, PlannedStage, PlanSource } from "../events/plan.ts";
import type { RigCheckName } from "../events/rig-check.ts";
import type { FirstMiss } from "../journal/snapshot.ts";
import type { BenchKind } from "./bench-kind.ts";
import type { SoakRecord } from "./soak-record.ts";

export const RECORD_FORMAT = "holdfast-record";
/** Version 1 knew no uncertainty, version 2 no release. All are read, by `parseRecord`. */
export const RECORD_VERSION = 3;

/** The reading that came nearest to its limit, or went furthest beyond it. */
export interface WorstCase {
  readonly volts: number;
  readonly limitV: number;
  /** Room to the limit; negative is beyond it. */
  readonly marginV: number;
  /** Step it belongs to, from 0. */
  readonly step: number;
  /** Expanded uncertainty for 95 %, volts; missing where it is not evaluated. */
  readonly expandedV?: number;
}

/** How likely a net was beyond its limit at the reading that came nearest to it. */
export interface RiskRecord {
  readonly channel: string;
  readonly expected: LevelClass;
  /** Probability, by JCGM 106:2012, clause 7. */
  readonly chance: number;
}

/** All required results of one net or line at one expected class. */
export interface ResultTotal {
  readonly channel: string;
  /** A driven line is judged by VIL and VIH as a receiver sees it, a net by VOL and VOH. */
  readonly kind: "net" | "driven line";
  readonly expected: LevelClass;
  readonly count: number;
  readonly passed: number;
  /** Inside the limit by less than the guard band, and beyond it by no more. */
  readonly conditionallyPassed: number;
  readonly conditionallyFailed: number;
  readonly failed: number;
  readonly voided: number;
  /** Null when no reading gave volts. */
  readonly worst: WorstCase | null;
}

export interface StepRecord {
  readonly step: number;
  readonly name: string;
  readonly kind: "pattern" | "hold";
  readonly result: ResultClass | "not tested";
  /** Readings written one by one: patterns, inactive lines, and every set that was not as expected. */
  readonly readings: readonly (Pick<
    JudgedReading,
    "channel" | "volts" | "expected" | "class" | "result" | "reason" | "limitV" | "marginV"
  > & { readonly part: "pattern" | "inactive" | "hold" | "flip" })[];
}

export interface HoldRecord {
  readonly step: number;
  readonly name: string;
  readonly part: "hold" | "flip";
  readonly result: ResultClass | "not tested";
  readonly requiredMs: number;
  readonly heldMs: number;
  /** Sets read, each as expected. */
  readonly readingSets: number;
  readonly meanIntervalMs: number | null;
  readonly movedLines: readonly string[];
  readonly moves: number;
  readonly extremes: Readonly<Record<string, { readonly lowV: number; readonly highV: number }>>;
  readonly watched: string;
  readonly notWatched: string;
}

export interface RailRecord {
  readonly rail: RailName;
  readonly nominalV: number;
  readonly lowV: number;
  readonly highV: number;
  readonly ceilingV: number;
  /** As measured before the rail reached the board; null when it was not. */
  readonly sourceV: number | null;
  /** As measured at the board when its gate opened. */
  readonly boardV: number | null;
  readonly riseMs: number | null;
  /** How it is known that the rail is off; "unproved" also when the journal says nothing. */
  readonly fall: FallProof;
  readonly fallV: number | null;
  readonly fallMs: number | null;
}

/** An earlier record that a released one takes the place of. */
export interface Correction {
  /** Number of the record that is corrected. */
  readonly number: string;
  /** SHA-256 of its record.json, hex. */
  readonly sha256: string;
  /** Why, in the words of who released the correction. */
  readonly why: string;
}

/** How a draft became a record. */
export interface Release {
  /** As that person wished to be called; null when nobody was named. */
  readonly by: string | null;
  /** Wall time by the clock of the releasing computer, ISO 8601. Nobody else vouches for it. */
  readonly at: string;
  /** Program that released it; the one that ran the board stands in `program`. */
  readonly program: string;
  /** Thumbprint of the key it was sealed with (RFC 7638), base64url. */
  readonly key: string;
  readonly corrects: Correction | null;
  /** Files of the run's method that were no longer as they had been, named by their hash alone. */
  readonly notAttached: readonly PlanSource[];
}

export interface AcceptanceRecord {
  readonly format: typeof RECORD_FORMAT;
  /** As it was written. Members that an older version had not are filled by `parseRecord`. */
  readonly version: 1 | 2 | typeof RECORD_VERSION;
  readonly status: "draft, not released" | "released";
  /** Given at release: day of the run, begin of its journal's last hash, count of releases. */
  readonly number: string | null;
  readonly release: Release | null;
  readonly verdict: Verdict;
  readonly scope: string;
  readonly run: string;
  readonly unit: string | null;
  /** Tubes and cold checks of the unit, as its file had them; missing without a unit file. */
  readonly unitSheet?: UnitSheet;
  readonly board: { readonly name: string; readonly revision: string; readonly title: string };
  /** Stages of the board, so that a record can be read without its files; missing in the first ones. */
  readonly stages?: readonly PlannedStage[];
  /** Missing in the first records, which knew proofs only. */
  readonly mode?: RunMode;
  readonly rig: string;
  /** Newest full check of the rig before this run; null without one, missing in records older than it. */
  readonly rigCheck?: RigCheckName | null;
  readonly sequence: string;
  readonly program: string;
  readonly files: readonly PlanSource[];
  readonly opened: string;
  readonly closed: string | null;
  readonly lengthMs: number;
  readonly cause: EndCause | null;
  readonly detail: string | null;
  readonly firstMiss: FirstMiss | null;
  readonly rule: {
    readonly decision: string;
    readonly uncertainty: "evaluated" | "uncertainty not evaluated";
    readonly contract: LevelContract;
    /** Of the rig's channels; null without one that counts. */
    readonly calibration?: PlannedCalibration | null;
    /** What U is made of, for the first reading of each net in each class. */
    readonly budgets?: readonly ReadingBudget[];
    readonly risks?: readonly RiskRecord[];
  };
  /** What the run does not show, such as "easy drive" or "unloaded". */
  readonly claims: readonly string[];
  /** Where the run went another way than its method, or without what a full proof has. */
  readonly departures: readonly string[];
  /** What the program remarked on meanwhile; bounded, the count of the rest as the last. */
  readonly remarks: readonly string[];
  /** What nobody may take this record for. */
  readonly statements: readonly string[];
  readonly conditions: {
    /** The real firmware emulated, a model of the controller, or a controller on a port. */
    readonly bench: BenchKind;
    readonly seed: number | null;
    readonly controller: {
      readonly model: string;
      readonly serial: string;
      readonly firmware: string;
      readonly resetCause: string;
      readonly bootCount: number;
    } | null;
    readonly conversionsPerReading: number;
    readonly slowestTimeConstantMs: number;
    /** Where the rig's sensor sits, degrees Celsius; null where the rig has none or none was read. */
    readonly celsius: {
      readonly lowest: number;
      readonly highest: number;
      readonly readings: number;
    } | null;
  };
  readonly warmUp: {
    readonly warm: boolean;
    readonly tookMs: number | null;
    /**
     * How long the heaters had been on when this run took them over from the one before; missing when
     * it switched them on itself. All times of this part then count from the taking over.
     */
    readonly heatersTakenOverMs?: number;
    /** From heaters on. Plate came later than heaters, so a net was valid by then, perhaps sooner. */
    readonly nets: readonly {
      readonly net: string;
      readonly validByMs: number | null;
      readonly steadyByMs: number | null;
    }[];
    readonly cold: readonly { readonly net: string; readonly volts: number | null }[];
  };
  readonly results: readonly ResultTotal[];
  readonly steps: readonly StepRecord[];
  readonly holds: readonly HoldRecord[];
  readonly rails: readonly RailRecord[];
  /** Missing where the run was no soak, and in soaks recorded before this was told. */
  readonly soak?: SoakRecord;
  /** Why the bench could not be believed; empty on a pass. */
  readonly doubts: readonly string[];
  /** Stretches in which nothing was sealed although rails were up, and lines that were lost. */
  readonly gaps: readonly string[];
  readonly journal: {
    readonly format: string;
    readonly version: number;
    readonly lines: number;
    readonly lastHash: string;
  };
}
