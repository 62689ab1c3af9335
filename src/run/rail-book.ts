/**
 * What this run has done to each rail and what its board side has shown since: the ground on which
 * supervision checks a rail and on which a fall counts as proved.
 */
import type { RailName } from "../events/levels.ts";
import type { Plan, PlannedRail } from "../events/plan.ts";

/** off: never ordered on. raising: ordered on, gate not passed. raised. falling: ordered off again. */
export type RailState = "off" | "raising" | "raised" | "falling";

export interface TrailPoint {
  readonly atMs: number;
  /** Signed volts of the board side; null when the channel gave no reading. */
  readonly volts: number | null;
}

interface RailPage {
  state: RailState;
  orderedOnMs: number | null;
  orderedOffMs: number | null;
  /** From the last reading inside the window, or above it later, on; empty until there was one. */
  trail: TrailPoint[];
}

/** A slow bias followed every 10 ms for its longest fall stays far below this. */
const TRAIL_POINTS_MAX = 8192;

export class RailBook {
  readonly #plan: Plan;
  readonly #pages = new Map<RailName, RailPage>();

  constructor(plan: Plan) {
    this.#plan = plan;
    for (const { rail } of plan.rails) {
      this.#pages.set(rail, { state: "off", orderedOnMs: null, orderedOffMs: null, trail: [] });
    }
  }

  state(rail: RailName): RailState {
    return this.#pages.get(rail)?.state ?? "off";
  }

  /** Rails ordered on and not yet ordered off, in the order they were raised. */
  on(): PlannedRail[] {
    return this.#plan.rails.filter(({ rail }) => ["raising", "raised"].includes(this.state(rail)));
  }

  everOn(rail: RailName): boolean {
    return this.state(rail) !== "off";
  }

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

  /** Take a board-side reading into the trail. */
  noteBoard(name: RailName, volts: number | null, atMs: number): void {
    const rail = this.#plan.rails.find((one) => one.rail === name);
    if (rail === undefined) return;
    this.#change(name, (page) => {
      const inside = volts !== null && isInWindow(volts, rail) && page.state !== "off";
      // A rail that had been good and ran away upwards falls from where it got to.
      const above = volts !== null && isAboveWindow(volts, rail) && page.trail.length > 0;
      if (inside || above) page.trail = [{ atMs, volts }];
      else if (page.trail.length > 0 && page.trail.length < TRAIL_POINTS_MAX) {
        page.trail.push({ atMs, volts });
      }
    });
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

export function isInWindow(volts: number, rail: PlannedRail): boolean {
  return volts >= rail.window.lowV && volts <= rail.window.highV;
}

/** Further from zero than the window, on the rail's own side. */
function isAboveWindow(volts: number, { nominalV, window }: PlannedRail): boolean {
  return nominalV > 0 ? volts > window.highV : volts < window.lowV;
}

export function isBeyondCeiling(volts: number, rail: PlannedRail): boolean {
  return Math.abs(volts) > Math.abs(rail.ceilingV);
}
