/**
 * When a section is warm. A cold tube reads high and looks valid, so only a low that a section has
 * pulled counts: valid from the first one, steady when the lows stop moving.
 */

import type { LevelClass } from "../events/levels.ts";
import type { WarmUpPlan } from "../events/plan.ts";

export interface LowReading {
  readonly net: string;
  /** Null when the channel gave no reading. */
  readonly volts: number | null;
  readonly class: LevelClass | null;
  /** From heaters on, ms. */
  readonly atMs: number;
}

export interface WarmNet {
  readonly net: string;
  /** Last volts read under a pattern in which this net must be low. */
  readonly volts: number | null;
  /** From heaters on; with plate on later than warm-up, "valid by". */
  readonly validMs: number | null;
  readonly steadyMs: number | null;
  /** Its last reading was a low. */
  readonly isLow: boolean;
}

interface Track {
  volts: number | null;
  validMs: number | null;
  steadyMs: number | null;
  /** Lows not older than steadyForMs before the newest, oldest first, and one beyond. */
  lows: { atMs: number; volts: number }[];
}

export class WarmTracker {
  readonly #plan: Pick<WarmUpPlan, "steadyBandV" | "steadyForMs">;
  readonly #tracks = new Map<string, Track>();

  constructor(plan: Pick<WarmUpPlan, "steadyBandV" | "steadyForMs" | "exercise">) {
    this.#plan = plan;
    for (const net of plan.exercise.flatMap(({ pullsLow }) => pullsLow)) {
      this.#tracks.set(net, { volts: null, validMs: null, steadyMs: null, lows: [] });
    }
  }

  /**
   * Take a reading of a net under a pattern in which its section must pull it low.
   *
   * @returns "valid" or "steady" when this reading made it so for the first time, else null
   */
  take(reading: LowReading): "valid" | "steady" | null {
    const track = this.#tracks.get(reading.net);
    if (track === undefined) return null;
    track.volts = reading.volts;
    if (reading.class !== "low" || reading.volts === null) {
      // A low that went away again was not steady, whatever it looked like.
      track.lows = [];
      track.steadyMs = null;
      return null;
    }
    const { atMs, volts } = reading;
    track.lows.push({ atMs, volts });
    if (track.validMs === null) {
      track.validMs = atMs;
      return "valid";
    }
    if (!this.#isSteady(track, atMs)) {
      track.steadyMs = null;
      return null;
    }
    const isNew = track.steadyMs === null;
    track.steadyMs ??= atMs;
    return isNew ? "steady" : null;
  }

  nets(): WarmNet[] {
    return [...this.#tracks].map(([net, { volts, validMs, steadyMs, lows }]) => ({
      net,
      volts,
      validMs,
      steadyMs,
      isLow: lows.length > 0,
    }));
  }

  isWarm(): boolean {
    return this.nets().every(({ validMs, steadyMs }) => validMs !== null && steadyMs !== null);
  }

  /** Nets that are not warm, those that never pulled low first. */
  cold(): WarmNet[] {
    const nets = this.nets();
    const never = nets.filter(({ validMs }) => validMs === null);
    return [...never, ...nets.filter((net) => net.validMs !== null && net.steadyMs === null)];
  }

  #isSteady(track: Track, nowMs: number): boolean {
    const fromMs = nowMs - this.#plan.steadyForMs;
    // Keep one low at or before the stretch begins, so that the stretch is covered whole.
    while ((track.lows[1]?.atMs ?? nowMs + 1) <= fromMs) track.lows.shift();
    const covered = (track.lows[0]?.atMs ?? nowMs) <= fromMs;
    const volts = track.lows.map((low) => low.volts);
    return covered && Math.max(...volts) - Math.min(...volts) <= this.#plan.steadyBandV;
  }
}
