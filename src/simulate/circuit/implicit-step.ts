/**
 * One step of the node equations by backward Euler, solved by Newton's method. Every part is
 * replaced by its tangent, the linear equations are solved, and the tangents are taken anew until
 * nothing moves.
 */
import type { BoardModel } from "./board-model.ts";
import { type DiodeCurrent, diodeCurrent, limitedJunctionV } from "./diode-law.ts";
import type { DeterminantSign } from "./sparse-lu.ts";
import { type TriodeCurrent, triodeCurrent } from "./triode-law.ts";

const ITERATIONS_MAX = 40;
/** Newton's error squares each time: a last move this small leaves one of a few microvolts. */
const STILL_V = 5e-4;
/** No node moves farther in one iteration; keeps tangents near where they were taken. */
const MOVE_V_MAX = 25;
const NODE_LEAK_S = 1e-12;
const SHORT_S = 10;

interface Places {
  readonly aa: number;
  readonly ab: number;
  readonly ba: number;
  readonly bb: number;
}

export class ImplicitStep {
  readonly #model: BoardModel;
  readonly #values: Float64Array;
  readonly #linear: Float64Array;
  readonly #stepped: Float64Array;
  readonly #sources: Float64Array;
  readonly #charged: Float64Array;
  readonly #right: Float64Array;
  readonly #junctionV: Float64Array;
  readonly #branchPlaces: readonly Places[];
  readonly #capacitorPlaces: readonly Places[];
  readonly #diodePlaces: readonly Places[];
  /** Nine places a triode: rows plate, grid, cathode by the same columns. */
  readonly #triodePlaces: Int32Array;
  readonly #triode: TriodeCurrent = {
    plateA: 0,
    platePerPlateV: 0,
    platePerGridV: 0,
    gridA: 0,
    gridPerGridV: 0,
  };
  readonly #diode: DiodeCurrent = { amps: 0, perVolt: 0 };
  #steppedFor = 0;

  constructor(model: BoardModel) {
    this.#model = model;
    const { lu, size } = model;
    const four = (a: number, b: number): Places => ({
      aa: lu.slot(a, a),
      ab: lu.slot(a, b),
      ba: lu.slot(b, a),
      bb: lu.slot(b, b),
    });
    this.#branchPlaces = model.branches.map(({ from, to }) => four(from, to));
    this.#capacitorPlaces = model.capacitors.map(({ a, b }) => four(a, b));
    this.#diodePlaces = model.diodes.map(({ anode, cathode }) => four(anode, cathode));
    this.#triodePlaces = Int32Array.from(
      model.triodes.flatMap(({ plate, grid, cathode }) => {
        const nodes = [plate, grid, cathode];
        return nodes.flatMap((row) => nodes.map((column) => lu.slot(row, column)));
      }),
    );
    const places = lu.spare + 1;
    this.#values = new Float64Array(places);
    this.#linear = new Float64Array(places);
    this.#stepped = new Float64Array(places);
    this.#sources = new Float64Array(size + 1);
    this.#charged = new Float64Array(size + 1);
    this.#right = new Float64Array(size + 1);
    this.#junctionV = new Float64Array(model.diodes.length);
    this.refresh();
  }

  /** Take over changed branches. */
  refresh(): void {
    const { branches, size, lu } = this.#model;
    const linear = this.#linear;
    const sources = this.#sources;
    linear.fill(0);
    sources.fill(0);
    for (let node = 0; node < size; node += 1) linear[lu.slot(node, node)] = NODE_LEAK_S;
    branches.forEach(({ siemens, from, to, emfV }, index) => {
      this.#stamp(linear, this.#branchPlaces[index] as Places, siemens);
      sources[from] = (sources[from] as number) + siemens * emfV;
      sources[to] = (sources[to] as number) - siemens * emfV;
    });
    this.#steppedFor = 0;
  }

  /**
   * Volts after a step.
   *
   * @param before volts at its begin
   * @param after  a guess; receives the volts at its end. Common is its last entry and stays 0
   * @returns sign of the determinant at the solution; 0 when none was found
   */
  solve(seconds: number, before: Float64Array, after: Float64Array): DeterminantSign {
    this.#prepare(seconds, before);
    const { diodes, lu, size } = this.#model;
    for (let index = 0; index < diodes.length; index += 1) {
      const diode = diodes[index] as (typeof diodes)[number];
      this.#junctionV[index] = (after[diode.anode] as number) - (after[diode.cathode] as number);
    }
    const right = this.#right;
    for (let iteration = 0; iteration < ITERATIONS_MAX; iteration += 1) {
      this.#values.set(this.#stepped);
      right.set(this.#charged);
      this.#addTriodes(after);
      const limited = this.#addDiodes(after);
      const sign = lu.factor(this.#values);
      if (sign === 0) return 0;
      lu.solve(this.#values, right);
      const moved = this.#take(after, size);
      if (!Number.isFinite(moved)) return 0;
      if (moved < STILL_V && !limited) return sign;
    }
    return 0;
  }

  #take(after: Float64Array, size: number): number {
    const right = this.#right;
    let moved = 0;
    for (let node = 0; node < size; node += 1) {
      const move = Math.abs((right[node] as number) - (after[node] as number));
      if (!(move <= moved)) moved = move;
    }
    const share = moved > MOVE_V_MAX ? MOVE_V_MAX / moved : 1;
    for (let node = 0; node < size; node += 1) {
      const from = after[node] as number;
      after[node] = from + share * ((right[node] as number) - from);
    }
    return moved;
  }

  #prepare(seconds: number, before: Float64Array): void {
    const { capacitors } = this.#model;
    if (seconds !== this.#steppedFor) {
      this.#stepped.set(this.#linear);
      for (let index = 0; index < capacitors.length; index += 1) {
        const { farad } = capacitors[index] as (typeof capacitors)[number];
        this.#stamp(this.#stepped, this.#capacitorPlaces[index] as Places, farad / seconds);
      }
      this.#steppedFor = seconds;
    }
    const charged = this.#charged;
    charged.set(this.#sources);
    for (let index = 0; index < capacitors.length; index += 1) {
      const { a, b, farad } = capacitors[index] as (typeof capacitors)[number];
      const amps = (farad / seconds) * ((before[a] as number) - (before[b] as number));
      charged[a] = (charged[a] as number) + amps;
      charged[b] = (charged[b] as number) - amps;
    }
  }

  #stamp(values: Float64Array, places: Places, siemens: number): void {
    values[places.aa] = (values[places.aa] as number) + siemens;
    values[places.bb] = (values[places.bb] as number) + siemens;
    values[places.ab] = (values[places.ab] as number) - siemens;
    values[places.ba] = (values[places.ba] as number) - siemens;
  }

  #addDiodes(volts: Float64Array): boolean {
    const { diodes } = this.#model;
    const right = this.#right;
    const out = this.#diode;
    let limited = false;
    for (let index = 0; index < diodes.length; index += 1) {
      const { anode, cathode, state } = diodes[index] as (typeof diodes)[number];
      const places = this.#diodePlaces[index] as Places;
      if (state !== "sound") {
        this.#stamp(this.#values, places, state === "shorted" ? SHORT_S : NODE_LEAK_S);
        continue;
      }
      const wanted = (volts[anode] as number) - (volts[cathode] as number);
      const at = limitedJunctionV(wanted, this.#junctionV[index] as number);
      if (at !== wanted) limited = true;
      this.#junctionV[index] = at;
      diodeCurrent(at, out);
      this.#stamp(this.#values, places, out.perVolt);
      const rest = out.amps - out.perVolt * at;
      right[anode] = (right[anode] as number) - rest;
      right[cathode] = (right[cathode] as number) + rest;
    }
    return limited;
  }

  #addTriodes(volts: Float64Array): void {
    const { triodes } = this.#model;
    const values = this.#values;
    const right = this.#right;
    const places = this.#triodePlaces;
    const out = this.#triode;
    for (let index = 0; index < triodes.length; index += 1) {
      const { plate, grid, cathode, law, current } = triodes[index] as (typeof triodes)[number];
      const cathodeV = volts[cathode] as number;
      const plateV = (volts[plate] as number) - cathodeV;
      const gridV = (volts[grid] as number) - cathodeV;
      triodeCurrent(law, plateV, gridV, out);
      const perPlate = current * out.platePerPlateV;
      const perGrid = current * out.platePerGridV;
      const gridPerGrid = current * out.gridPerGridV;
      const base = 9 * index;
      add(values, places[base] as number, perPlate);
      add(values, places[base + 1] as number, perGrid);
      add(values, places[base + 2] as number, -perPlate - perGrid);
      add(values, places[base + 4] as number, gridPerGrid);
      add(values, places[base + 5] as number, -gridPerGrid);
      add(values, places[base + 6] as number, -perPlate);
      add(values, places[base + 7] as number, -perGrid - gridPerGrid);
      add(values, places[base + 8] as number, perPlate + perGrid + gridPerGrid);
      const plateRest = current * out.plateA - perPlate * plateV - perGrid * gridV;
      const gridRest = current * out.gridA - gridPerGrid * gridV;
      right[plate] = (right[plate] as number) - plateRest;
      right[grid] = (right[grid] as number) - gridRest;
      right[cathode] = (right[cathode] as number) + plateRest + gridRest;
    }
  }
}

/** At file level, not inside the loop: a function made there would be made anew in every step. */
function add(values: Float64Array, place: number, siemens: number): void {
  values[place] = (values[place] as number) + siemens;
}
