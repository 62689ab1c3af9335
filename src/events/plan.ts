/**
 * A plan: board, rig and sequence resolved into typed steps that the run machine can walk without
 * opening a file. Every name in it is known to exist and every step is inside the board's ceilings.
 */
import type { DrivenLevel, LevelClass, LevelContract, RailName } from "./levels.ts";

/** Divider from a node to a converter pin: node-top-pin, pin-bottom-common, pin-pullUp-reference. */
export interface Divider {
  readonly topOhm: number;
  readonly bottomOhm: number;
  /** Offset resistor from pin to the reference; null for a plain divider. */
  readonly pullUpOhm: number | null;
}

type ChannelSource =
  | { readonly kind: "net"; readonly net: string }
  | { readonly kind: "line"; readonly line: string }
  | { readonly kind: "rail"; readonly rail: RailName; readonly at: "source" | "board" }
  /** Volts at the supply end of a shunt in the supply's return. */
  | { readonly kind: "shunt"; readonly rail: RailName; readonly ohm: number }
  /** A source of known volts, by which the converter's own reference is measured. */
  | {
      readonly kind: "reference";
      readonly volts: number;
      readonly part: number;
      /** How far it may have gone since a calibration with it; missing: as far as it may be off. */
      readonly driftPart?: number | undefined;
    }
  /** The board's common against the controller's. */
  | { readonly kind: "ground" }
  /** A sensor that gives zeroV at 0 degrees Celsius and so many volts a kelvin. */
  | { readonly kind: "temperature"; readonly zeroV: number; readonly voltsPerK: number };

/**
 * What a calibration found of one channel: volts at its lead are offsetV + gain * volts by the marked
 * divider and the reference. Standard uncertainties are of the fit alone.
 */
export interface ChannelCalibration {
  readonly gain: number;
  readonly offsetV: number;
  /**
   * The converter's reference then, where the rig measures it: what a pull-up and the converter's own
   * offset put in goes with it. Missing where gain and offset hold for the reference of that day.
   */
  readonly referenceV?: number | undefined;
  readonly fit: {
    readonly gainU: number;
    readonly offsetU: number;
    /** Of gain and offset, volts. */
    readonly covariance: number;
    /** Degrees of freedom; null when the uncertainty of the points was known beforehand. */
    readonly dof: number | null;
  };
  /** What the meter may be off: part of the reading and volts, half-widths, the same at every point. */
  readonly meter: { readonly part: number; readonly volts: number };
  /** Volts between which points were taken. */
  readonly lowV: number;
  readonly highV: number;
  /** Largest distance of a point from the line, volts. */
  readonly residualV: number;
}

/** How the channels of a rig came to what is known of them. */
export interface PlannedCalibration {
  /** Day and time of the calibration, ISO 8601. */
  readonly date: string;
  /** Day from which it no longer counts, ISO 8601. */
  readonly expires: string;
  /** First hex digits of the file's SHA-256: what a record names it by. */
  readonly id: string;
  readonly meter: string;
  /** Where the rig's sensor stood then, degrees Celsius; missing where it has none. */
  readonly celsius?: number | undefined;
}

/** What may be off by nature, half-widths as parts of 1 unless said otherwise. */
export interface PlannedAccuracy {
  /** Marked value of each divider resistor; counts only where a channel is not calibrated. */
  readonly resistorPart: number;
  /**
   * The converter's reference against the rig file's, or since the calibration. A measured reference
   * takes its place.
   */
  readonly referencePart: number;
  /** Straightness of the converter, code steps. */
  readonly linearitySteps: number;
  /** How far a divider's ratio goes with temperature, parts per kelvin, and by how many kelvin it may. */
  readonly perK: number;
  readonly spanK: number;
}

/** How readings become results, fixed in the board's limits before the run. */
export interface PlannedRule {
  readonly name: "guarded" | "simple";
  /** Whether the uncertainty of every judged net is evaluated. */
  readonly evaluated: boolean;
  /** Why it is not, or what weakens it; one clause each. */
  readonly remarks: readonly string[];
}

/** Source resistance of a net in each of its states, ohms, and how well it is known, as a part of 1. */
export interface PlannedSource {
  readonly lowOhm: number;
  readonly highOhm: number;
  readonly part: number;
}

export interface PlannedChannel {
  /** Net or line name, or `plate.source` / `plate.board` for a rail. Unique in the plan. */
  readonly name: string;
  /** Channel number of the controller. */
  readonly number: number;
  readonly reads: ChannelSource;
  readonly divider: Divider;
  readonly referenceV: number;
  /** Time constant of divider and pin capacitor, microseconds; not in journals older than it. */
  readonly filterUs?: number | undefined;
  /** Missing where the channel was not calibrated. */
  readonly calibration?: ChannelCalibration | undefined;
  /** Of the net it reads; missing where the board file does not say. */
  readonly source?: PlannedSource | undefined;
  /** Volts of hum at the node, amplitude, as a rig check saw it; missing where none did. */
  readonly humV?: number | undefined;
}

/** Amperes out of the supply's live pole, as a magnitude. */
export interface PlannedCurrent {
  readonly channel: string;
  readonly ohm: number;
  readonly lowA: number;
  readonly highA: number;
}

export interface PlannedRail {
  readonly rail: RailName;
  /** Output number of the controller. */
  readonly output: number;
  readonly nominalV: number;
  /** lowV < highV, signed: a bias of -24 V has lowV -26.4 and highV -21.6. */
  readonly window: { readonly lowV: number; readonly highV: number };
  /** Signed absolute ceiling, same sign as nominal; the magnitude may never exceed it. */
  readonly ceilingV: number;
  /** Magnitude in volts at or below which the rail counts as off. */
  readonly safeV: number;
  readonly sourceChannel: string;
  readonly boardChannel: string;
  /** What the rail may draw once it is up, and the channel that reads it; missing without a shunt. */
  readonly current?: PlannedCurrent | undefined;
  /** Longest time from switch-on until the board side must be inside the window. */
  readonly riseMsMax: number;
  /** Longest time from switch-off until the board side must be at or below safeV. */
  readonly fallMsMax: number;
}

export interface PlannedLine {
  readonly line: string;
  readonly output: number;
  readonly drive: "changeover" | "load";
  /** Level with the relay released; a load line has none. */
  readonly releasedLevel: DrivenLevel | null;
  /** Channel that reads the line back; null only for a load line. */
  readonly channel: string | null;
  /** What its driver takes to operate or release, ms; not in journals older than it. */
  readonly driverMs?: number | undefined;
  /** What a load line connects; missing for another, and in journals older than it. */
  readonly load?:
    | { readonly net: string; readonly ohm: number; readonly to: "common" | RailName }
    | undefined;
  /** Source volts and ohms in each state, as the rig declares them. null for a load line. */
  readonly source: {
    readonly low: LineSource;
    readonly high: LineSource;
  } | null;
}

/** `from`: the rail it is taken from on the board side; missing for a source of its own. */
interface LineSource {
  readonly volts: number;
  readonly ohm: number;
  readonly from?: RailName | undefined;
}

/** A joint of the loop-back plug: the net's lead follows the line through so many ohms. */
interface PlannedJoint {
  readonly line: string;
  readonly net: string;
  readonly ohm: number;
}

/** Raised at each turn while a run is frozen. It is no line: no sequence sets it, no channel reads it. */
interface PlannedTrigger {
  readonly line: string;
  readonly output: number;
}

/** Whole periods of the mains as samples one millisecond apart: 20 at 50 Hz, 50 (three periods) at 60 Hz. */
export interface PlannedMains {
  readonly hz: 50 | 60;
  readonly samples: number;
}

/** For a load line "high" means the load is connected. */
export type LineLevels = Readonly<Record<string, DrivenLevel>>;
export type ExpectedClasses = Readonly<Record<string, LevelClass>>;

export interface PatternStep {
  readonly kind: "pattern";
  /** Position in the plan, from 0. */
  readonly index: number;
  readonly name: string;
  readonly set: LineLevels;
  readonly settleMs: number;
  readonly expect: ExpectedClasses;
  /** The sequence file left the classes out, and the model of the board file's stages filled them in. */
  readonly modelled?: true | undefined;
  /** Where the model says otherwise than `expect`: what it says. Nothing is judged by it. */
  readonly modelSays?: ExpectedClasses | undefined;
  readonly note: string | null;
}

export interface HoldFlip {
  readonly enter: LineLevels;
  readonly release: LineLevels;
  readonly expect: ExpectedClasses;
  readonly modelled?: true | undefined;
  readonly modelSays?: ExpectedClasses | undefined;
  readonly forMs: number;
}

export interface HoldStep {
  readonly kind: "hold";
  readonly index: number;
  readonly name: string;
  readonly enter: LineLevels;
  readonly release: LineLevels;
  /** Lines that must read at this level before and during the hold. */
  readonly inactive: LineLevels;
  readonly expect: ExpectedClasses;
  readonly modelled?: true | undefined;
  readonly modelSays?: ExpectedClasses | undefined;
  /** Read at its two ends alone, to see whether reading disturbs the hold after it. */
  readonly light?: true | undefined;
  /** Lines that are moved to and fro while the state must hold. */
  readonly move: readonly string[];
  readonly moveEveryMs: number;
  readonly readEveryMs: number;
  readonly settleMs: number;
  readonly forMs: number;
  readonly flip: HoldFlip;
  readonly note: string | null;
}

/** How the board is cycled in a soak, as its sequence file has it. */
interface PlannedSoak {
  /** Steps of one cycle, index from 0 within it. */
  readonly cycle: readonly PatternStep[];
  /** From the start of one cycle to the start of the next; 0: one after the other. */
  readonly everyMs: number;
  readonly readEveryMs: number;
  readonly power: { readonly onMs: number; readonly offMs: number } | null;
  readonly dwell: { readonly everyMs: number; readonly forMs: number } | null;
  /** Sets with the heaters low; missing where none are asked for. */
  readonly heaterLow?: HeaterLowOrder | undefined;
}

/** Readings with the heaters low, before the cycles of a soak and after them. */
export interface HeaterLowOrder {
  /** Below the volts that the supply stands at. */
  readonly percent: number;
  /** Wait for the cathodes, before the set and after it. */
  readonly settleMs: number;
  /** A low level that rises by more, volts, is a finding; missing where only sisters and the night itself judge. */
  readonly riseMaxV?: number | undefined;
}

export type PlannedStep = PatternStep | HoldStep;

export interface WarmUpExercise {
  readonly set: LineLevels;
  readonly settleMs: number;
  /** Nets that a warm section pulls low under this pattern. */
  readonly pullsLow: readonly string[];
}

export interface WarmUpPlan {
  /** Least time the heaters are on before plate is switched, ms. */
  readonly heaterBeforePlateMs: number;
  readonly exercise: readonly WarmUpExercise[];
  /** From heaters on; a section not warm by then fails. */
  readonly timeoutMs: number;
  /** A low level is steady when it moved no more than this over steadyForMs. */
  readonly steadyBandV: number;
  readonly steadyForMs: number;
}

export interface PlannedStage {
  readonly stage: string;
  readonly type: string;
  /** Socket and section; both missing for a gate without a tube. */
  readonly position?: string | undefined;
  readonly section?: string | undefined;
  readonly inputs: readonly string[];
  readonly output: string;
}

/** A file that went into the plan, for the record. `name` is the base name, never a full path. */
export interface PlanSource {
  readonly role: "board" | "rig" | "sequence" | "circuit" | "unit" | "calibration";
  readonly name: string;
  readonly sha256: string;
}

export interface Plan {
  readonly board: { readonly name: string; readonly revision: string; readonly title: string };
  readonly rig: { readonly name: string };
  readonly sequence: { readonly name: string };
  readonly sources: readonly PlanSource[];
  readonly contract: LevelContract;
  /** Missing in journals older than it, which accepted simply. */
  readonly rule?: PlannedRule | undefined;
  /** Missing where the rig file does not say how good its parts are. */
  readonly accuracy?: PlannedAccuracy | undefined;
  readonly calibration?: PlannedCalibration | undefined;
  /** In the order they are raised. */
  readonly rails: readonly PlannedRail[];
  /** Absolute ceilings that involve two points, volts, magnitude. */
  readonly ceilings: {
    readonly betweenRailsV: number;
    readonly heaterToCathodeV: number;
    readonly contactDcV: number;
  };
  readonly lines: readonly PlannedLine[];
  /** Output to an oscilloscope's trigger input; missing where the rig has none. */
  readonly trigger?: PlannedTrigger | undefined;
  readonly channels: readonly PlannedChannel[];
  /** The rig's loop-back plug; missing where it has none. */
  readonly loopback?: readonly PlannedJoint[] | undefined;
  /** Nothing is on the connector but the plug: rails have no reservoir and fall at once. */
  readonly connector?: "empty" | undefined;
  readonly stages: readonly PlannedStage[];
  /** Conversions summed for one reading of a net. */
  readonly samples: number;
  /** Mains whose hum nets and lines are averaged over; missing where the rig names none. */
  readonly mains?: PlannedMains | undefined;
  readonly slowestTimeConstantMs: number;
  readonly warmUp: WarmUpPlan;
  readonly steps: readonly PlannedStep[];
  /** Missing where the sequence file has none, and in journals older than it. */
  readonly soak?: PlannedSoak | undefined;
  /** Sentences the record must carry, such as "easy drive" or "unloaded". */
  readonly claims: readonly string[];
  readonly cautions: readonly string[];
  /** Estimated length of one pass after warm-up, ms. */
  readonly estimatedPassMs: number;
}
