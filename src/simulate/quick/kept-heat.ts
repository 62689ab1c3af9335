/** How warm every heater and cathode of a board is, to be kept and put back. */
import { type BoardModel, OPEN_SIEMENS } from "../circuit/board-model.ts";
import { emissionShare, heaterOhm } from "../circuit/cathode.ts";

export class KeptHeat {
  readonly #model: BoardModel;
  readonly #cathode: Float64Array;
  readonly #wire: Float64Array;
  /** Of each triode, its heater's place. */
  readonly #heaterOf: readonly number[];

  constructor(model: BoardModel) {
    this.#model = model;
    this.#heaterOf = model.triodes.map(({ heater }) => model.heaters.indexOf(heater));
    this.#cathode = new Float64Array(model.heaters.length);
    this.#wire = new Float64Array(model.heaters.length);
  }

  keep(): void {
    for (const [index, heater] of this.#model.heaters.entries()) {
      this.#cathode[index] = heater.cathode;
      this.#wire[index] = heater.wire;
    }
  }

  putBack(): void {
    for (const [index, heater] of this.#model.heaters.entries()) {
      heater.cathode = this.#cathode[index] as number;
      heater.wire = this.#wire[index] as number;
      heater.branch.siemens = heater.open
        ? OPEN_SIEMENS
        : 1 / heaterOhm(heater.hotOhm, heater.wire);
    }
  }

  /** Most that any section's share of its emission, and any wire's temperature, moved since. */
  moved(): { readonly share: number; readonly wire: number } {
    let share = 0;
    let wire = 0;
    for (const [index, { heater, halfAt }] of this.#model.triodes.entries()) {
      const before = emissionShare(
        this.#cathode[this.#heaterOf[index] as number] as number,
        halfAt,
      );
      share = Math.max(share, Math.abs(emissionShare(heater.cathode, halfAt) - before));
    }
    for (const [index, heater] of this.#model.heaters.entries()) {
      wire = Math.max(wire, Math.abs(heater.wire - (this.#wire[index] as number)));
    }
    return { share, wire };
  }
}
