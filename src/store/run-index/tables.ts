/**
 * The tables of the index of runs. Everything in them is drawn from files of the runs folder and can be
 * drawn again: nothing is kept here that is not kept there. A fact stands in one place; what a query can
 * add up is not stored.
 *
 * Times of day are text as ISO 8601 with the same moment as `openedMs` beside it, ms of the Unix epoch, to
 * sort by. Lengths of time are ms, volts are to common.
 */
import type { EndCause, RunMode } from "../../events/events.ts";
import type { LevelClass, Verdict } from "../../events/levels.ts";
import type { DriftFinding } from "../../verdict/drift/report.ts";

/** One run whose journal can be read, by the name of its folder. */
export interface RunRow {
  readonly run: string;
  readonly mode: RunMode;
  /** `not closed`: cut off, or still going on. */
  readonly seal: "closed" | "not closed";
  readonly verdict: Verdict;
  readonly cause: EndCause | null;
  readonly firstMiss: string | null;
  readonly unit: string | null;
  readonly board: string;
  readonly revision: string;
  readonly sequence: string;
  readonly rig: string;
  /** An emulated bench says nothing about a built board. */
  readonly bench: "emulated" | "port";
  readonly seed: number | null;
  readonly program: string;
  readonly rule: string;
  readonly uncertainty: "evaluated" | "not evaluated";
  /** Of the files the limits came from; null where the journal does not name them. */
  readonly boardSha256: string | null;
  readonly sequenceSha256: string | null;
  readonly rigSha256: string | null;
  /** Of the rig's channels, and the newest full check of the rig, by their ids. */
  readonly calibration: string | null;
  readonly rigCheck: string | null;
  readonly opened: string;
  readonly openedMs: number;
  readonly closed: string | null;
  readonly lengthMs: number;
  readonly warmUpMs: number | null;
  readonly journalVersion: number;
  readonly lines: number;
  /** SHA-256 of the last whole line. */
  readonly lastHash: string;
  /** Bytes of a torn last line that were dropped. */
  readonly tornBytes: number;
  /** Size of the journal as it was indexed: another size is another journal. */
  readonly bytes: number;
}

/** A folder with a journal that cannot be read or trusted. */
export interface UnreadableRow {
  readonly run: string;
  readonly why: string;
  readonly bytes: number;
}

interface UnitRow {
  readonly unit: string;
  readonly board: string;
}

interface TubeRow {
  readonly serial: string;
}

/** A socket of the board in one run, what was in it, and for how long it was on. */
export interface PlaceRow {
  readonly run: string;
  readonly position: string;
  /** Null where no unit file said so. */
  readonly tube: string | null;
  readonly serial: string | null;
  /** With the heater rail on, with the plate rail on, and with heaters on and plate off. */
  readonly heaterMs: number;
  readonly plateMs: number;
  readonly heaterOnlyMs: number;
}

/** A section of a socket in one run: the net it drives, and how long that net was seen to stay. */
interface SectionRow {
  readonly run: string;
  readonly position: string;
  readonly section: string;
  readonly stage: string;
  readonly net: string;
  /** Net low at both ends of the interval: the section conducts. */
  readonly conductingMs: number;
  /** Net high at both ends with heater and plate on: the section is cut off. */
  readonly cutOffMs: number;
}

/** Required results of one net or line at one expected class, counted, with the worst and the mean. */
export interface ResultRow {
  readonly run: string;
  readonly channel: string;
  readonly kind: "net" | "driven line";
  readonly expected: LevelClass;
  readonly count: number;
  readonly passed: number;
  readonly conditionallyPassed: number;
  readonly conditionallyFailed: number;
  readonly failed: number;
  readonly voided: number;
  /** The reading nearest to its limit, or furthest beyond; null when none gave volts. */
  readonly worstV: number | null;
  readonly limitV: number | null;
  readonly marginV: number | null;
  /** Expanded uncertainty for 95 % of the worst; null where it is not evaluated. */
  readonly worstExpandedV: number | null;
  /** Over the readings that are kept one by one, and how many they are. */
  readonly meanV: number | null;
  readonly sdV: number | null;
  readonly meanCount: number;
  /** Largest expanded uncertainty among them. */
  readonly meanExpandedV: number | null;
}

/** What a soak had counted when it ended, or when it was last sealed. */
export interface SoakRow {
  readonly run: string;
  readonly cycles: number;
  readonly wrong: number;
  readonly unjudged: number;
  readonly notKept: number;
  readonly powerCycles: number;
  readonly boardMs: number;
  readonly heaterMs: number;
  readonly cyclingMs: number;
  readonly repeats: number;
  readonly legs: number;
  /** Kinds of error by how they behaved. */
  readonly transient: number;
  readonly intermittent: number;
  readonly steady: number;
  readonly attendance: "attended" | "unattended";
  /** Whether it was long enough to be judged for drift. */
  readonly drift: "judged" | "not judged";
}

/** A section that a soak's drift was laid to. */
export interface DriftRow {
  readonly run: string;
  readonly position: string;
  readonly section: string;
  readonly net: string;
  readonly kind: DriftFinding["kind"];
  /** Of the sections that cannot be parted from it, those in other sockets; empty where it is this socket alone. */
  readonly orElse: string;
  /** How far the level moved, volts with its sign, and where it stands in the middle of the run; null in a short one. */
  readonly movedV: number;
  readonly levelV: number | null;
  /** How far that is beyond nothing, standard deviations; hours it was looked at. */
  readonly ownSd: number;
  readonly hours: number;
}

/** A calibration of a rig, as runs on it name it. */
export interface CalibrationRow {
  /** First hex digits of its file's SHA-256. */
  readonly id: string;
  readonly rig: string;
  readonly date: string;
  readonly expires: string;
  readonly meter: string;
  readonly celsius: number | null;
}

/** A record of a run: the draft beside its journal, or a released one in a folder of its own. */
export interface RecordRow {
  readonly run: string;
  /** Folder below the run's, such as released-1; empty for the draft. */
  readonly folder: string;
  /** Null where the file cannot be read as a record. */
  readonly version: number | null;
  readonly status: string;
  readonly verdict: string | null;
  /** SHA-256 of the file, and the last line of the journal it says it was made of. */
  readonly sha256: string;
  readonly journalHash: string | null;
  readonly bytes: number;
}

/** A check of a rig that was kept beside the runs. */
export interface RigCheckRow {
  /** Run that made it: what its file is called by. */
  readonly run: string;
  readonly id: string;
  readonly rig: string;
  readonly board: string;
  readonly rigSha256: string;
  readonly at: string;
  readonly depth: "quick" | "full";
  readonly fit: "fit" | "not fit";
  readonly findings: number;
  readonly bytes: number;
}

/** What a person wrote down about a tube. */
export interface TubeNoteRow {
  readonly serial: string;
  /** Counts from 0 in the order of the file. */
  readonly place: number;
  readonly date: string;
  readonly kind: "removed" | "retest" | "note";
  readonly text: string;
  /** Of a retest; null where it was not said. */
  readonly found: "good" | "weak" | null;
  readonly unit: string | null;
  readonly position: string | null;
  readonly by: string | null;
}

/** A run that a person marked as what its unit is to be held against. */
export interface BaselineRow {
  readonly run: string;
  /** Counts from 0 in the order of the file; of two of one unit the later counts. */
  readonly place: number;
  readonly note: string | null;
}

/** The file of notes as it was indexed. */
export interface NoteFileRow {
  readonly file: string;
  readonly sha256: string;
}

export interface RunTables {
  readonly runs: RunRow;
  readonly unreadable: UnreadableRow;
  readonly units: UnitRow;
  readonly tubes: TubeRow;
  readonly places: PlaceRow;
  readonly sections: SectionRow;
  readonly results: ResultRow;
  readonly soaks: SoakRow;
  readonly drifts: DriftRow;
  readonly calibrations: CalibrationRow;
  readonly records: RecordRow;
  readonly rigChecks: RigCheckRow;
  readonly tubeNotes: TubeNoteRow;
  readonly baselines: BaselineRow;
  readonly noteFiles: NoteFileRow;
}

/** Everything the index holds of one run. */
export interface RunFacts {
  readonly run: RunRow;
  readonly places: readonly PlaceRow[];
  readonly sections: readonly SectionRow[];
  readonly results: readonly ResultRow[];
  readonly soak: SoakRow | null;
  readonly drifts: readonly DriftRow[];
  readonly calibration: CalibrationRow | null;
  readonly records: readonly RecordRow[];
}
