/** What a run shows of its sections, and what it does not. */
import type { UnitHistory } from "../../events/unit-history.ts";
import type { TimeToLimit } from "../../measure/statistics/time-to-limit.ts";
import type { AlarmCharts, ChartAlarm } from "./alarm-charts.ts";
import type { HourFromBaseline } from "./from-baseline.ts";
import type { HeaterLowReport, WeakWhenCooler } from "./heater-low.ts";
import type { LevelDrift } from "./level-drift.ts";
import type { LevelOwners, UnreadSection } from "./who-conducts.ts";

/** One level of one net over the run. */
export interface LevelReport extends LevelOwners {
  readonly net: string;
  readonly class: "low" | "high";
  /** In the middle of the run, volts. */
  readonly levelV: number;
  readonly drift: LevelDrift;
  /** What is its own of the drift, in its standard deviations: up for a low level, down for a high one. */
  readonly ownSd: number;
  /** Beyond this, ownSd is a finding: rarer than chance over all levels of a night together. */
  readonly limitSd: number;
  /** Smallest drift over the run that would have been found with 95 % chance, volts. */
  readonly smallestV: number;
  /** Of one set, volts. */
  readonly noiseV: number;
  readonly fromBaseline: readonly HourFromBaseline[];
  /** Of low levels. */
  readonly charts: AlarmCharts | null;
  /** Sets of it left out as odd ones. */
  readonly odd: number;
  /** Distance from its sisters' median in robust standard deviations; null for too few of them. */
  readonly sistersZ: number | null;
}

interface OfLevel extends LevelOwners {
  readonly net: string;
}

/** A section that conducts less and less, alone. */
export interface LosesEmission extends OfLevel {
  readonly kind: "loses emission";
  readonly driftV: number;
  /** Interval for 95 %. */
  readonly lowV: number;
  readonly highV: number;
  readonly ownSd: number;
  /** Chance that any level of a healthy night shows as much. */
  readonly chance: number;
  readonly by: readonly ("line" | ChartAlarm["chart"])[];
  readonly sinceHour: number | null;
  readonly shape: "line" | "either";
  readonly slope: LevelDrift["slope"];
  /** Hours until VOL, if it goes on so; null without a slope. */
  readonly untilVol: TimeToLimit | null;
}

export type DriftFinding =
  | LosesEmission
  | WeakWhenCooler
  | (OfLevel & {
      /** A level that jumped: a joint, a contact, a part, before it is a tube. */
      readonly kind: "level step";
      readonly stepV: number;
      readonly atHour: number;
      readonly ownSd: number;
    })
  | (OfLevel & {
      /** A cut-off level that comes down: load, leak, or a section behind it that no longer cuts it off. */
      readonly kind: "high level falls";
      readonly driftV: number;
      readonly ownSd: number;
    })
  | (OfLevel & {
      /** Conducts less in the first cycle after standing cut off than later: cathode interface resistance. */
      readonly kind: "slow to conduct";
      readonly firstV: number;
      readonly sd: number;
      readonly times: number;
    });

/** Seen, and no finding. */
export type DriftRemark =
  | {
      readonly kind: "moves together";
      readonly nets: readonly string[];
      readonly driftV: number;
    }
  | (OfLevel & {
      readonly kind: "not separable";
      readonly riseV: number;
      readonly influence: string;
    })
  | (OfLevel & {
      /** An alarm in the run that its end no longer bears out. */
      readonly kind: "moved for a while";
      readonly hour: number;
    });

export interface DriftReport {
  /** Whether there was enough to judge; else why not. */
  readonly judged: boolean;
  readonly why: string | null;
  /** Hours on from first set that counts to last, and how many count. */
  readonly hours: number;
  readonly sets: number;
  readonly leftOut: { readonly warmingUp: number; readonly incomplete: number };
  readonly levels: readonly LevelReport[];
  readonly findings: readonly DriftFinding[];
  /** Null where no set was taken with the heaters low. */
  readonly heaterLow: HeaterLowReport | null;
  readonly remarks: readonly DriftRemark[];
  readonly unread: readonly UnreadSection[];
  /** The bottle each section is half of. */
  readonly positions: Readonly<Record<string, string>>;
  /** Serial of the tube in each of these, as far as a unit file says. */
  readonly serials: Readonly<Record<string, string>>;
  readonly influences: readonly string[];
  /** What this run taught of the unit, with what was known before. */
  readonly learned: UnitHistory;
}
