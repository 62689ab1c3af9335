/** What the actors of one run share. Made once by startRun; nothing in it outlives the run. */
import type { Bench } from "../bench/bench.ts";
import type { Clock } from "../clock/clock.ts";
import type { ChannelReading } from "../events/events.ts";
import type { Plan } from "../events/plan.ts";
import { EnergiseLatch } from "./energise-latch.ts";
import { LeadBook } from "./lead-book.ts";
import { LineBook, releasedLevels } from "./line-book.ts";
import { Progress } from "./progress.ts";
import { RailBook, type RailState } from "./rail-book.ts";
import type { RigSurvey } from "./rig-survey.ts";
import { RigWatch } from "./rig-watch.ts";
import type { Scribe } from "./scribe.ts";
import { SourceBook } from "./source-book.ts";
import { heartbeatMs, watchEveryMs } from "./timing.ts";
import { WishDesk } from "./wish-desk.ts";

/**
 * Keeps the note on disk that this rig was energised and not yet proved off, so that even a power
 * cut leaves it standing.
 */
export interface BlockKeeper {
  /** Called before the first rail is switched, and again at the end when a fall is unproved. */
  raise(reason: string): void;
  /** Called when every rail that was raised has been proved off. */
  clear(): void;
}

export interface RunParts {
  readonly plan: Plan;
  readonly bench: Bench;
  readonly clock: Clock;
  readonly scribe: Scribe;
  readonly rails: RailBook;
  readonly lines: LineBook;
  readonly leads: LeadBook;
  readonly rig: RigWatch;
  readonly sources: SourceBook;
  readonly latch: EnergiseLatch;
  readonly progress: Progress;
  readonly block: BlockKeeper | null;
  readonly desk: WishDesk;
  /** Readings since the last `watch` event, newest of each channel. */
  readonly passing: Map<string, ChannelReading>;
  /** Whether every section has been seen warm in this run. */
  readonly warmth: { reached: boolean };
  /** When the last `watch` event was written, by whoever was looking then. */
  readonly watched: { ms: number };
  /** How often such an event is written while cycling or proving, ms. */
  readonly watchEveryMs: number;
  /** Rest between two beats of supervision, ms. */
  readonly heartbeatMs: number;
  /** Reading of the clock at which the run was opened: times in the journal count from it. */
  readonly openedMs: number;
  /** When the dead-man was last fed by supervision. */
  readonly fed: { ms: number };
  /** What this run finds out about the rig itself; null where it does not ask. */
  readonly survey: RigSurvey | null;
}

export function createRunParts(
  given: Pick<RunParts, "plan" | "bench" | "clock" | "scribe" | "block"> & {
    readonly survey?: RigSurvey | null;
    readonly watchEveryMs?: number;
    readonly heartbeatMs?: number;
    readonly openedMs?: number;
  },
): RunParts {
  const lines = new LineBook(given.plan);
  const rails = new RailBook(given.plan);
  return {
    survey: null,
    watchEveryMs,
    heartbeatMs,
    openedMs: given.clock.nowMs(),
    ...given,
    rails,
    lines,
    sources: new SourceBook(given.plan, lines),
    leads: new LeadBook(given.plan),
    rig: new RigWatch(given.plan, {
      say: (text) => given.scribe.write({ kind: "remark", text }),
      on: () => ({ heaters: isOn(rails.state("heater")), coils: areMoved(lines, given.plan) }),
    }),
    latch: new EnergiseLatch(),
    progress: new Progress(given.clock),
    desk: new WishDesk(),
    passing: new Map(),
    warmth: { reached: false },
    watched: { ms: Number.NEGATIVE_INFINITY },
    fed: { ms: Number.NEGATIVE_INFINITY },
  };
}

function isOn(state: RailState): boolean {
  return state === "raising" || state === "raised" || state === "kept";
}

/** Whether any line's relay is operated. */
function areMoved(lines: LineBook, plan: Plan): boolean {
  return Object.entries(releasedLevels(plan)).some(
    ([line, level]) => lines.levelOf(line) !== level,
  );
}
