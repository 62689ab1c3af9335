/**
 * What a simulated bench saw with its own eyes: which outputs were driven, and the true volts of its rails. It sits
 * between controller and fixture and knows nothing of the program.
 */
import type { RailName } from "../../../src/events/levels.ts";
import type { Plan } from "../../../src/events/plan.ts";
import type { Fixture } from "../../../src/simulate/fixture.ts";

interface Outputs {
  readonly ms: number;
  readonly mask: number;
}

/** Rails are looked at this often while the last switching is younger than that, and now and then afterwards. */
const LOOK_MS = 5;
const RESTLESS_MS = 15_000;
const STILL_LOOK_MS = 1000;

export class Witness {
  readonly fixture: Fixture;
  readonly outputs: Outputs[] = [];
  /** What was unsafe, in words; at most a few of each. */
  readonly unsafe: string[] = [];
  readonly #inner: Fixture;
  readonly #plan: Plan;
  readonly #ceilings: boolean;
  #lookedMs = Number.NEGATIVE_INFINITY;

  /** @param ceilings false where a supply itself is to go beyond them */
  constructor(inner: Fixture, plan: Plan, ceilings: boolean) {
    this.#inner = inner;
    this.#ceilings = ceilings;
    this.#plan = plan;
    this.fixture = {
      setOutputs: (mask, atMs) => {
        if (mask !== this.mask) this.outputs.push({ ms: atMs, mask });
        inner.setOutputs(mask, atMs);
      },
      pinVolts: (pin, address, atMs) => {
        const volts = inner.pinVolts(pin, address, atMs);
        this.#look(atMs);
        return volts;
      },
      setCoilSupply: (present, atMs) => inner.setCoilSupply(present, atMs),
      change: (change, atMs) => inner.change(change, atMs),
      railVolts: (atMs) => inner.railVolts(atMs),
      nodeVolts: (atMs) => inner.nodeVolts(atMs),
      quietUntilMs: (atMs) => inner.quietUntilMs?.(atMs) ?? atMs,
    };
  }

  get mask(): number {
    return this.outputs.at(-1)?.mask ?? 0;
  }

  /** Rails driven on now. */
  railsOn(mask = this.mask): RailName[] {
    const outputs = new Map(this.#plan.rails.map(({ rail, output }) => [rail, output]));
    return [...outputs].filter(([, output]) => (mask & bit(output)) !== 0).map(([rail]) => rail);
  }

  /** How long a rail has been on at that moment; Infinity when it is not. */
  onForMs(rail: RailName, atMs: number): number {
    if (!this.railsOn().includes(rail)) return Number.POSITIVE_INFINITY;
    const isOn = (mask: number): boolean => this.railsOn(mask).includes(rail);
    const off = this.outputs.findLastIndex(({ mask }) => !isOn(mask));
    return atMs - (this.outputs[off + 1]?.ms ?? 0);
  }

  /** How often a rail was switched on until then. */
  timesOn(rail: RailName, toMs: number): number {
    const isOn = (mask: number): boolean => this.railsOn(mask).includes(rail);
    return this.outputs.filter(
      ({ ms, mask }, at) => ms <= toMs && isOn(mask) && !isOn(this.outputs[at - 1]?.mask ?? 0),
    ).length;
  }

  /** Since when no rail has been driven, of the bench; Infinity while one is. */
  offSinceMs(): number {
    let sinceMs = 0;
    for (const { ms, mask } of this.outputs) {
      if (this.railsOn(mask).length > 0) sinceMs = Number.POSITIVE_INFINITY;
      else if (sinceMs === Number.POSITIVE_INFINITY) sinceMs = ms;
    }
    return sinceMs;
  }

  /** Whole cycles driven from one moment to another: set and let go, then reset and let go. */
  cycles(lines: { readonly set: string; readonly reset: string }, fromMs: number, toMs: number) {
    const set = bit(this.#outputOf(lines.set));
    const reset = bit(this.#outputOf(lines.reset));
    let stage = 0;
    let cycles = 0;
    let before = 0;
    for (const { ms, mask } of this.outputs) {
      const went = (of: number, on: boolean): boolean =>
        (before & of) === (on ? 0 : of) && (mask & of) === (on ? of : 0);
      if (ms > toMs) break;
      if (ms >= fromMs) {
        if (went(set, true)) stage = 1;
        else if (stage === 1 && went(set, false)) stage = 2;
        else if (stage === 2 && went(reset, true)) stage = 3;
        else if (stage === 3 && went(reset, false)) {
          stage = 0;
          cycles += 1;
        }
      }
      before = mask;
    }
    return cycles;
  }

  /** Rails that are not at rest, with their true volts. */
  live(atMs: number): string[] {
    const volts = this.#inner.railVolts(atMs);
    return this.#plan.rails
      .filter(({ rail, safeV }) => Math.abs(volts[rail]) > Math.abs(safeV))
      .map(({ rail }) => `${rail} at ${volts[rail].toFixed(1)} V`);
  }

  #outputOf(line: string): number {
    const found = this.#plan.lines.find((one) => one.line === line);
    if (found === undefined) throw new Error(`no line ${line} in the plan`);
    return found.output;
  }

  #look(atMs: number): void {
    const switchedMs = this.outputs.at(-1)?.ms ?? 0;
    const everyMs = atMs - switchedMs < RESTLESS_MS ? LOOK_MS : STILL_LOOK_MS;
    if (atMs - this.#lookedMs < everyMs) return;
    this.#lookedMs = atMs;
    const volts = this.#inner.railVolts(atMs);
    const bias = this.#plan.rails.find(({ rail }) => rail === "bias");
    const plate = this.#plan.rails.find(({ rail }) => rail === "plate");
    for (const { rail, ceilingV } of this.#plan.rails) {
      if (this.#ceilings && Math.abs(volts[rail]) > Math.abs(ceilingV))
        this.#note(`${rail} at ${volts[rail]} V`, atMs);
    }
    if (bias === undefined || plate === undefined) return;
    const isOut = volts.bias < bias.window.lowV || volts.bias > bias.window.highV;
    if (isOut && Math.abs(volts.plate) > Math.abs(plate.safeV)) {
      this.#note(`plate ${volts.plate.toFixed(1)} V with bias ${volts.bias.toFixed(1)} V`, atMs);
    }
  }

  #note(what: string, atMs: number): void {
    if (this.unsafe.length < 5) this.unsafe.push(`${what} at ${Math.round(atMs)} ms`);
  }
}

function bit(output: number): number {
  return 1 << (output - 1);
}
