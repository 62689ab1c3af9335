/**
 * What this run has done to each rail and what its board side has shown since: the ground on which
 * supervision checks a rail and on which a fall counts as proved.
 */
import { SCAN_PERIOD_MS } from "../bench/bench.ts";
import type { RailName } from "../events/levels.ts";
import type { Plan, PlannedRail } from "../events/plan.ts";

/**
 * off: never ordered on. raising: ordered on, gate not passed. raised. falling: ordered off again.
 * kept: handed over to the next run, still on; this run has nothing more to do with it.
 */
export type RailState = "off" | "raising" | "raised" | "falling" | "kept";

export interface TrailPoint {
  readonly atMs: number;
  /** Signed volts of the board side; null when the channel gave no reading. */
  readonly volts: number | null;
}

/** Ends of a window, signed volts, lower first. */
export interface RailWindow {
  readonly lowV: number;
  readonly highV: number;
}

interface RailPage {
  state: RailState;
  /** Where it was moved to; null holds it to the plan's. */
  window: RailWindow | null;
  orderedOnMs: number | null;
  orderedOffMs: number | null;
  /** Clock reading at which an earlier run had ordered it on; null unless taken over. */
  takenOverFromMs: number | null;
  /** From the last reading inside the window, or above it later, on; empty until there was one. */
  trail: TrailPoint[];
  /** The last reading taken, and the scan it came from where it came from one. */
  last: {
    readonly atMs: number;
    readonly scan: number | null;
    readonly volts: number | null;
  } | null;
}

/** One rail's board side in consecutive scans of the controller. */
export interface ScannedVolts {
  /** Number of the newest scan, modulo 65536. */
  readonly scan: number;
  /** Signed volts, oldest first; null where a scan gave no reading. */
  readonly volts: readonly (number | null)[];
}

/** A slow bias followed every 10 ms for its longest fall stays far below this. */
const TRAIL_POINTS_MAX = 8192;
/** A scan this far behind the last one is late; further behind, the controller began to count anew. */
const LATE_SCANS_MAX = 64;
/**
 * How late an answer comes varies with the link, so that scans seem closer together than they were.
 * Points nearer than this fraction of the scan period would make a fall look steeper than a rail's.
 */
const SPACING_FRACTION_MIN = 0.5;

export class RailBook {
  readonly #plan: Plan;
  readonly #pages = new Map<RailName, RailPage>();

  constructor(plan: Plan) {
    this.#plan = plan;
    for (const { rail } of plan.rails) {
      this.#pages.set(rail, {
        state: "off",
        window: null,
        orderedOnMs: null,
        orderedOffMs: null,
        takenOverFromMs: null,
        trail: [],
        last: null,
      });
    }
  }

  state(rail: RailName): RailState {
    return this.#pages.get(rail)?.state ?? "off";
  }

  /** What the rail has to stay within now. */
  window({ rail, window }: PlannedRail): RailWindow {
    return this.#pages.get(rail)?.window ?? window;
  }

  /** Hold the rail to another window, as its supply is turned; the ceiling stays. */
  moveWindow(rail: RailName, window: RailWindow): void {
    this.#change(rail, (page) => {
      page.window = window;
    });
  }

  /** Board side as last read; null without a reading. */
  lastV(rail: RailName): number | null {
    return this.#pages.get(rail)?.last?.volts ?? null;
  }

  /** Rails ordered on and not yet ordered off, in the order they were raised. */
  on(): PlannedRail[] {
    return this.#plan.rails.filter(({ rail }) => ["raising", "raised"].includes(this.state(rail)));
  }

  everOn(rail: RailName): boolean {
    return this.state(rail) !== "off";
  }

  /** When this run ordered it on; for one taken over, when it did so. */
  orderedOnMs(rail: RailName): number | null {
    return this.#pages.get(rail)?.orderedOnMs ?? null;
  }

  orderedOffMs(rail: RailName): number | null {
    return this.#pages.get(rail)?.orderedOffMs ?? null;
  }

  /** To be called before the order goes out: an order that got lost may have been carried out. */
  orderOn(rail: RailName, atMs: number): void {
    this.#change(rail, (page) => {
      page.state = "raising";
      page.orderedOnMs = atMs;
      page.trail = [];
    });
  }

  /**
   * The rail is on since `onSinceMs`, handed over by the run before. It counts as raised from here on:
   * it must stay in its window, and its fall must be proved whatever ends this run.
   */
  takeOver(rail: RailName, { onSinceMs, atMs }: { onSinceMs: number; atMs: number }): void {
    this.#change(rail, (page) => {
      page.state = "raised";
      page.takenOverFromMs = onSinceMs;
      page.orderedOnMs = atMs;
    });
  }

  /** When the run before had ordered this rail on; null unless it was taken over. */
  takenOverFromMs(rail: RailName): number | null {
    return this.#pages.get(rail)?.takenOverFromMs ?? null;
  }

  /** Since when the rail has been on, under this run or the ones before it. */
  onSinceMs(rail: RailName): number | null {
    return this.takenOverFromMs(rail) ?? this.orderedOnMs(rail);
  }

  /** Leave the rail on for the next run: this one does not switch it any more. */
  keepOn(rail: RailName): void {
    this.#change(rail, (page) => {
      page.state = "kept";
    });
  }

  gatePassed(rail: RailName): void {
    this.#change(rail, (page) => {
      page.state = "raised";
    });
  }

  orderOff(rail: RailName, atMs: number): void {
    this.#change(rail, (page) => {
      if (page.state === "off") return;
      page.state = "falling";
      page.orderedOffMs ??= atMs;
    });
  }

  /**
   * Take a board-side reading into the trail.
   *
   * @param scan number of the scan it comes from; one that was taken before is no second reading
   */
  noteBoard(name: RailName, volts: number | null, atMs: number, scan: number | null = null): void {
    const rail = this.#plan.rails.find((one) => one.rail === name);
    if (rail === undefined) return;
    this.#change(name, (page) => {
      if (scan !== null && scansSince(page.last?.scan ?? null, scan) === 0) return;
      page.last = { atMs, scan, volts };
      const window = page.window ?? rail.window;
      const inside = volts !== null && isInside(volts, window) && page.state !== "off";
      // A rail that had been good and ran away upwards falls from where it got to.
      const above = volts !== null && isAboveWindow(volts, rail, window) && page.trail.length > 0;
      if (inside || above) page.trail = [{ atMs, volts }];
      else if (page.trail.length > 0 && page.trail.length < TRAIL_POINTS_MAX) {
        page.trail.push({ atMs, volts });
      }
    });
  }

  /**
   * Take from the controller's own trail what is newer than the last reading, each at its own time:
   * the newest at `atMs`, each one before it a scan period earlier, closer together where the link
   * has left less room. Where it has left too little, all wait for the next trail.
   */
  noteTrail(name: RailName, { scan, volts }: ScannedVolts, atMs: number): void {
    const last = this.#pages.get(name)?.last ?? null;
    const roomMs = last === null ? Number.POSITIVE_INFINITY : atMs - last.atMs;
    const scans = scansSince(last?.scan ?? null, scan) ?? Math.floor(roomMs / SCAN_PERIOD_MS);
    const count = Math.min(volts.length, scans);
    if (count === 0) return;
    const spacingMs = Math.min(SCAN_PERIOD_MS, roomMs / count);
    if (spacingMs < SCAN_PERIOD_MS * SPACING_FRACTION_MIN) return;
    for (let back = count - 1; back >= 0; back -= 1) {
      const point = volts[volts.length - 1 - back] ?? null;
      this.noteBoard(name, point, atMs - back * spacingMs, (scan - back) & 0xffff);
    }
  }

  /** From the last reading inside the window on; empty when the rail never read inside it. */
  trail(rail: RailName): readonly TrailPoint[] {
    return this.#pages.get(rail)?.trail ?? [];
  }

  #change(rail: RailName, change: (page: RailPage) => void): void {
    const page = this.#pages.get(rail);
    if (page !== undefined) change(page);
  }
}

/** Scans from `last` to `scan`, modulo 65536; 0 for one that is not newer; null when not known. */
function scansSince(last: number | null, scan: number): number | null {
  if (last === null) return null;
  return ((last - scan) & 0xffff) <= LATE_SCANS_MAX ? 0 : (scan - last) & 0xffff;
}

export function isInWindow(volts: number, rail: PlannedRail): boolean {
  return isInside(volts, rail.window);
}

export function isInside(volts: number, { lowV, highV }: RailWindow): boolean {
  return volts >= lowV && volts <= highV;
}

/** A rail's window, as wide as it is, moved as its nominal volts move with a share of its supply. */
export function movedWindow({ nominalV, window }: PlannedRail, share: number): RailWindow {
  const byV = nominalV * (share - 1);
  return { lowV: window.lowV + byV, highV: window.highV + byV };
}

/** From the lower end of both windows to the higher one. */
export function spanOf(one: RailWindow, other: RailWindow): RailWindow {
  return { lowV: Math.min(one.lowV, other.lowV), highV: Math.max(one.highV, other.highV) };
}

/** Further from zero than the window, on the rail's own side. */
function isAboveWindow(volts: number, { nominalV }: PlannedRail, window: RailWindow): boolean {
  return nominalV > 0 ? volts > window.highV : volts < window.lowV;
}

export function isBeyondCeiling(volts: number, rail: PlannedRail): boolean {
  return Math.abs(volts) > Math.abs(rail.ceilingV);
}
