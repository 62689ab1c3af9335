/** How far the board's common stood above the controller's, by what was on then. */

interface Extremes {
  readonly lowV: number;
  readonly highV: number;
}

const STATES = ["everything off", "heaters on", "heaters on and coils operated"] as const;
type GroundState = (typeof STATES)[number];

export class GroundBook {
  readonly #seen = new Map<GroundState, Extremes>();

  learn(volts: number, on: { readonly heaters: boolean; readonly coils: boolean }): void {
    const state = on.heaters ? STATES[on.coils ? 2 : 1] : STATES[0];
    // Coils alone, before the heaters, are no state that a reading of the board is taken in.
    if (!on.heaters && on.coils) return;
    const { lowV, highV } = this.#seen.get(state) ?? { lowV: volts, highV: volts };
    this.#seen.set(state, { lowV: Math.min(lowV, volts), highV: Math.max(highV, volts) });
  }

  /** One sentence over the run; null where nothing was measured. */
  words(): string | null {
    const said = STATES.flatMap((state) => {
      const seen = this.#seen.get(state);
      if (seen === undefined) return [];
      const [low, high] = [millivolts(seen.lowV), millivolts(seen.highV)];
      return [`${low === high ? low : `${low} to ${high}`} mV with ${state}`];
    });
    return said.length === 0 ? null : `the board's common stood at ${said.join(", ")}`;
  }
}

function millivolts(volts: number): number {
  return Math.round(1000 * volts) || 0;
}
