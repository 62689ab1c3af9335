/** The points measured so far, by channel, kept on disk after each one. */
import type { CalibrationPoint } from "../../measure/calibration-point.ts";
import type { PointsDraft } from "./points-draft.ts";

export class PointBook {
  readonly #points = new Map<string, CalibrationPoint[]>();
  readonly #changed: () => void;
  /** Channels that the person gave up. */
  readonly left = new Set<string>();

  constructor(
    given: Readonly<Record<string, readonly CalibrationPoint[]>>,
    /** Called after each change. */
    changed: () => void,
  ) {
    for (const [name, points] of Object.entries(given)) this.#points.set(name, [...points]);
    this.#changed = changed;
  }

  of(channel: string): readonly CalibrationPoint[] {
    return this.#points.get(channel) ?? [];
  }

  /** Points of one setting of the supply. */
  add(points: Readonly<Record<string, CalibrationPoint>>): void {
    for (const [name, point] of Object.entries(points)) {
      this.#points.set(name, [...this.of(name), point]);
    }
    this.#changed();
  }

  /** Take back the newest point of each of these channels. @returns false when there was none */
  undo(channels: readonly string[]): boolean {
    const had = channels.filter((name) => this.of(name).length > 0);
    for (const name of had) this.#points.set(name, this.of(name).slice(0, -1));
    if (had.length > 0) this.#changed();
    return had.length > 0;
  }

  /** Every channel that has any, as a draft keeps them. */
  get all(): PointsDraft["points"] {
    const written = [...this.#points].filter(([, points]) => points.length > 0);
    return Object.fromEntries(written.map(([name, points]) => [name, [...points]]));
  }

  get isEmpty(): boolean {
    return [...this.#points.values()].every((points) => points.length === 0);
  }
}
