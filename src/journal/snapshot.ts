/**
 * What a run looks like now: the fold of its sealed events. The screen, the plain lines, the
 * record and the verdict all read this and nothing else.
 */
import type {
  EndCause,
  FallProof,
  JudgedReading,
  Phase,
  RunEvent,
  RunMode,
} from "../events/events.ts";
import type {
  DrivenLevel,
  LevelClass,
  NoReadingReason,
  RailName,
  ResultClass,
  Verdict,
} from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import type { SoakSnapshot } from "./soak-snapshot.ts";

export interface RailSnapshot {
  readonly rail: RailName;
  readonly on: boolean;
  readonly sourceV: number | null;
  readonly boardV: number | null;
  readonly inWindow: boolean | null;
  /** Where its window stands while its supply is turned down; missing where it is the plan's. */
  readonly movedWindow?: { readonly lowV: number; readonly highV: number };
  readonly fall: FallProof | null;
  readonly fallV: number | null;
  /** Amperes as last read by a shunt, null without a reading; missing without a shunt. */
  readonly currentA?: number | null;
  /** How long it had been on when this run took it over; missing when this run switched it on. */
  readonly takenOverMs?: number | undefined;
}

export interface ChannelSnapshot {
  readonly channel: string;
  readonly volts: number | null;
  readonly noReading: NoReadingReason | null;
  readonly class: LevelClass | null;
  readonly expected: LevelClass | null;
  readonly result: JudgedReading["result"] | null;
  /** Expanded uncertainty of the volts; missing where it is not evaluated. */
  readonly expandedV?: number | undefined;
}

export type StepState = "waiting" | "running" | "not tested" | ResultClass;

export interface StepSnapshot {
  readonly index: number;
  readonly name: string;
  readonly state: StepState;
}

export interface HoldSnapshot {
  readonly step: number;
  readonly part: "hold" | "flip";
  readonly elapsedMs: number;
  readonly forMs: number;
  readonly readingSets: number;
  readonly moves: number;
}

export interface LogLine {
  readonly ms: number;
  readonly text: string;
  readonly weight: "info" | "good" | "bad" | "warning";
}

/** First required reading that did not pass, for the person to act on. */
export interface FirstMiss {
  readonly step: number | null;
  readonly net: string;
  readonly volts: number | null;
  readonly text: string;
}

interface WarmNetSnapshot {
  readonly net: string;
  readonly validMs: number | null;
  readonly steadyMs: number | null;
}

/** A time-limited state that a person looks at with power on. Times count from the run's start. */
interface HandSnapshot {
  readonly sinceMs: number;
  readonly limitMs: number;
}

interface FreezeSnapshot {
  readonly step: number;
  readonly sinceMs: number;
  readonly limitMs: number;
  readonly trigger: string | null;
  /** Steps repeated so far, and how the newest of them came out. */
  readonly turns: number;
  readonly newest: JudgedReading["result"] | null;
  /** How each step last came out when it was repeated, by its index. */
  readonly newestByStep: Readonly<Record<number, JudgedReading["result"]>>;
  /** The other step of a loop, null when none runs. */
  readonly loopTo: number | null;
}

interface StandbySnapshot {
  readonly sinceMs: number;
  readonly limitMs: number;
  /** How the run would close now. */
  readonly verdict: Verdict;
}

export interface RunSnapshot {
  readonly opened: Extract<RunEvent, { kind: "run-opened" }> | null;
  readonly plan: Plan | null;
  readonly ms: number;
  readonly phase: Phase;
  readonly controller: Extract<RunEvent, { kind: "controller" }> | null;
  readonly rails: readonly RailSnapshot[];
  readonly channels: readonly ChannelSnapshot[];
  readonly steps: readonly StepSnapshot[];
  readonly hold: HoldSnapshot | null;
  readonly mode: RunMode;
  /** Lines as last driven; a line not driven yet is missing. */
  readonly lines: Readonly<Record<string, DrivenLevel>>;
  readonly hand: HandSnapshot | null;
  readonly freeze: FreezeSnapshot | null;
  readonly standby: StandbySnapshot | null;
  /** Missing in a run that is no soak. */
  readonly soak?: SoakSnapshot | undefined;
  readonly warm: readonly WarmNetSnapshot[];
  readonly warmUpMs: number | null;
  /** Bounded: the newest lines only. */
  readonly log: readonly LogLine[];
  readonly firstMiss: FirstMiss | null;
  /** First reading nearer to its limit than its uncertainty, on either side; missing under simple acceptance. */
  readonly firstConditional?: FirstMiss | undefined;
  readonly stopRequested: boolean;
  readonly sealedEvents: number;
  /** Verdict of what is sealed so far under DESIGN's run rule; null until the run is closed. */
  readonly verdict: Verdict | null;
  readonly cause: EndCause | null;
  readonly detail: string | null;
  /** Estimated ms left, null when not known. */
  readonly leftMs: number | null;
}
