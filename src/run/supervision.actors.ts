/** The work behind the heartbeat: one look at everything that must be right, and one feed. */

import { fromPromise } from "xstate";
import { isBenchError } from "../bench/bench-error.ts";
import { CurrentWatch } from "./current-watch.ts";
import { within } from "./deadline.ts";
import { type Ending, ending } from "./ending.ts";
import { type RailLook, understandScan } from "./look.ts";
import { stalled } from "./machine-words.ts";
import { findRailTrouble } from "./rail-checks.ts";
import type { RunParts } from "./run-parts.ts";
import type { Look } from "./supervision.machine.ts";
import { beatMsMax, beatsRoundMs, heartbeatDeadlineMs } from "./timing.ts";

/** Not made by `worker`: supervision may not count as progress of what it supervises. */
export function supervisionActors(parts: RunParts) {
  const supervision = new Supervision(parts);
  return {
    beats: fromPromise<Look, undefined>(({ signal }) => supervision.beats(signal)),
    look: fromPromise<Look, undefined>(() => supervision.look()),
    feed: fromPromise<void, { scan: number }>(async ({ input: { scan } }) => {
      await supervision.feed(scan);
    }),
  };
}

/** firmware-protocol/errors.csv: the scan offered is older than the controller lets count. */
const scanTooOld = 106;

/** A host that was held up, or a link that lost a line, offers an old scan and is refused. */
function isOldScan(error: unknown): boolean {
  return isBenchError(error) && error.code === "refused" && error.facts.number === scanTooOld;
}

class Supervision {
  readonly #parts: RunParts;
  readonly #currents: CurrentWatch;
  #lastScan: number | null = null;

  constructor(parts: RunParts) {
    this.#parts = parts;
    this.#currents = new CurrentWatch(parts);
  }

  /** Good beats for one round, or until a look is not good. Nothing is fed once `signal` has aborted. */
  async beats(signal: AbortSignal): Promise<Look> {
    const { clock } = this.#parts;
    const untilMs = clock.nowMs() + beatsRoundMs;
    for (;;) {
      signal.throwIfAborted();
      const look = await this.#beat(signal);
      if (look.kind !== "good" || clock.nowMs() >= untilMs) return look;
    }
  }

  async #beat(signal: AbortSignal): Promise<Look> {
    const { clock, heartbeatMs } = this.#parts;
    const beganMs = clock.nowMs();
    try {
      const look = await this.look();
      if (look.kind !== "good") return look;
      signal.throwIfAborted();
      // A rest after a feed that was not taken would be one too many for the dead-man.
      if (await this.feed(look.scan)) await clock.delay(heartbeatMs, signal);
      return look;
    } finally {
      this.#mindHoldUp(clock.nowMs() - beganMs);
    }
  }

  /**
   * @returns whether it was taken. Not taking an old scan is no fault: the next beat looks afresh, and if that comes
   *   too late the dead-man strikes, as it should.
   */
  async feed(scan: number): Promise<boolean> {
    const { bench, clock, fed } = this.#parts;
    const deadline = { clock, limitMs: heartbeatDeadlineMs, what: "a feed" };
    try {
      await within(deadline, bench.feed(scan));
      fed.ms = clock.nowMs();
      return true;
    } catch (error) {
      if (!isOldScan(error)) throw error;
      return false;
    }
  }

  async look(): Promise<Look> {
    const { bench, clock, latch, plan, progress, rails } = this.#parts;
    latch.assertOpen("supervision");
    const hung = progress.overdue(this.#parts.heartbeatMs);
    if (hung !== null) {
      return { kind: "bad", ending: stalled(hung) };
    }
    // Before the scan: the controller takes a feed only of a scan that is still new.
    const current = await this.#currents.look();
    if (current !== null) return { kind: "bad", ending: current };
    const what = "a rail scan";
    const scan = await within({ clock, limitMs: heartbeatDeadlineMs, what }, bench.scanRails());
    const looks = understandScan(scan, this.#parts);
    const standsStill = scan.scan === this.#lastScan;
    this.#lastScan = scan.scan;
    // The controller scans every few ms: the same number again is stale, and stale is no reading.
    if (standsStill) return { kind: "suspect", ending: standingStill(scan.scan) };
    this.#watch(looks);
    const trouble = findRailTrouble(looks, rails, plan);
    if (trouble === null) return { kind: "good", scan: scan.scan };
    const isHard = trouble.kind === "beyond ceiling";
    const code = isHard ? "ceiling-exceeded" : "rail-out-of-window";
    const found = ending("trip", `${trouble.detail} (seen by supervision)`, {
      code,
      net: trouble.channel,
    });
    return { kind: isHard ? "bad" : "suspect", ending: found };
  }

  /** A beat that takes so long was held up: this computer did something else meanwhile. */
  #mindHoldUp(tookMs: number): void {
    if (tookMs <= beatMsMax) return;
    const { progress, scribe } = this.#parts;
    progress.forgive(tookMs);
    const text = `this computer was held up: nothing of this program ran for about ${(tookMs / 1000).toFixed(1)} s`;
    scribe.write({ kind: "remark", text });
  }

  /** Rails of this look and whatever else was read in passing, about once a second. */
  #watch(looks: readonly RailLook[]): void {
    const { clock, passing, scribe, watched, watchEveryMs } = this.#parts;
    if (clock.nowMs() - watched.ms < watchEveryMs) return;
    watched.ms = clock.nowMs();
    for (const { source, board } of looks) {
      passing.set(source.channel, source);
      passing.set(board.channel, board);
    }
    const readings = [...passing.values()];
    passing.clear();
    scribe.write({ kind: "watch", readings });
  }
}

function standingStill(scan: number): Ending {
  return ending("link lost", `the controller's scan stands still at ${scan}`, {
    code: "scan-stands-still",
    net: null,
  });
}
