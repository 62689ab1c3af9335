/**
 * A bench that only knows logic: rails that rise and fall exponentially, a latch, dividers, and the
 * rules the controller keeps by itself. It stands on a virtual clock, keeps its own log of true rail
 * volts, and does what a script tells it to at a moment of time.
 */
import {
  type Bench,
  type BenchEvent,
  type RailScan,
  type RailTrail,
  type RawReading,
  SCAN_PERIOD_MS,
  type TripLimit,
} from "../../src/bench/bench.ts";
import { BenchError } from "../../src/bench/bench-error.ts";
import type { Clock } from "../../src/clock/clock.ts";
import type { DrivenLevel, RailName } from "../../src/events/levels.ts";
import type { Plan, PlannedChannel } from "../../src/events/plan.ts";

export interface BoardScript {
  /** Heaters must have been on this long, ms, before a section pulls. */
  readonly warmAfterMs: number;
  readonly lowV: number;
  readonly highV: number;
  /** Nets that never pull low. */
  readonly dead: readonly string[];
  /** Volts a net's low stands at when it is not lowV. */
  readonly weakLowV: Readonly<Record<string, number>>;
  /** The latch forgets: Q falls back when both inputs are released. */
  readonly forgets: boolean;
  /** Time constants of the rails' fall, ms. */
  readonly fallMs: Readonly<Record<RailName, number>>;
}

export interface LinkScript {
  /** From a request to its answer, ms; what is asked happens and is read at its end. */
  readonly exchangeMs: number;
  /** The controller knows the query for a trail. */
  readonly hasTrail: boolean;
  /** Number of the scan at time 0. */
  readonly firstScan: number;
}

const quick: LinkScript = { exchangeMs: 1, hasTrail: true, firstScan: 0 };

/** Scans the controller keeps. */
const TRAIL_SCANS = 16;

const healthy: BoardScript = {
  warmAfterMs: 1300,
  lowV: 9,
  highV: 43,
  dead: [],
  weakLowV: {},
  forgets: false,
  fallMs: { heater: 40, bias: 600, plate: 25 },
};

/** How often the bench judges its true volts by itself. */
const RULE_CHECK_MS = 25;

interface RailState {
  on: boolean;
  fromV: number;
  toV: number;
  sinceMs: number;
  tauMs: number;
}

export interface ScriptedOptions {
  readonly plan: Plan;
  readonly clock: Clock;
  readonly board?: Partial<BoardScript>;
  readonly link?: Partial<LinkScript>;
}

/** What can go wrong, by name; set at the start or by `at`. */
export interface Mishaps {
  /** Supply volts that differ from nominal. */
  readonly supplyV: Map<RailName, number>;
  /** Channels whose lead hangs free. */
  readonly openLeads: Set<string>;
  /** Rails whose relay does not open again. */
  readonly weldedRails: Set<RailName>;
  /** Lines that stay at a level whatever they are told. */
  readonly stuckLines: Map<string, DrivenLevel>;
  /** Methods of the bench that never answer any more. */
  readonly hung: Set<keyof Bench>;
  /** Amperes that a rail draws, where its plan has a shunt; else the middle of its limits. */
  readonly currentA: Map<RailName, number>;
  /** The converter's reference as it is, where that is not what the plan says. */
  referenceV: number | null;
  /** The board's common above the controller's. */
  groundV: number;
  /** The scan counter stands still. */
  scanFrozen: boolean;
}

export class ScriptedBench implements Bench {
  readonly identity = {
    maker: "HOLDFAST",
    model: "CONTROLLER",
    serial: "0",
    firmware: "scripted",
    resetCause: "POR",
    bootCount: 1,
  };
  readonly mishaps: Mishaps = {
    supplyV: new Map(),
    openLeads: new Set(),
    weldedRails: new Set(),
    stuckLines: new Map(),
    hung: new Set(),
    currentA: new Map(),
    referenceV: null,
    groundV: 0,
    scanFrozen: false,
  };
  /** Every request in order, as `switchRail plate on`. */
  readonly requests: string[] = [];
  /** What broke one of the safety rules, from the true volts; empty on a good day. */
  readonly violations: string[] = [];
  readonly #plan: Plan;
  readonly #clock: Clock;
  readonly #board: BoardScript;
  readonly #link: LinkScript;
  /** The newest scans, oldest first; kept from the first switching off on. */
  readonly #kept: RailScan[] = [];
  readonly #rails = new Map<RailName, RailState>();
  readonly #lines = new Map<string, DrivenLevel>();
  readonly #limits = new Map<string, TripLimit>();
  readonly #listeners = new Set<(event: BenchEvent) => void>();
  #heaterOnMs: number | null = null;
  #q = false;
  #weak: { readonly heaterV: number; readonly lowV: number } | null = null;
  #armed = false;
  #latched: "trip" | "dead-man" | null = null;
  #linkLost = false;
  #lastFed = -1;
  #deadMan: unknown = null;
  #isWatching = false;
  #isKeeping = false;
  #scannedMs = 0;

  constructor({ plan, clock, board = {}, link = {} }: ScriptedOptions) {
    this.#plan = plan;
    this.#clock = clock;
    this.#board = { ...healthy, ...board };
    this.#link = { ...quick, ...link };
    for (const { rail } of plan.rails) {
      this.#rails.set(rail, { on: false, fromV: 0, toV: 0, sinceMs: 0, tauMs: 1 });
    }
    for (const line of plan.lines) this.#lines.set(line.line, line.releasedLevel ?? "low");
  }

  async step(
    levels: Readonly<Record<string, DrivenLevel>>,
    settleMs: number,
    channels: readonly string[],
  ): Promise<RawReading[]> {
    await this.setLines(levels);
    await this.#clock.delay(settleMs);
    return this.readOnce(channels);
  }

  // What a script can do ---------------------------------------------------------------------

  at(atMs: number, act: () => void): void {
    this.#clock.setTimeout(act, Math.max(0, atMs - this.#clock.nowMs()));
  }

  trip(channel: string, code = 900): void {
    this.#latched = "trip";
    this.#orderedOff();
    this.#push({ kind: "tripped", channel, code, atMs: this.#clock.nowMs() });
  }

  /** Outputs release together, as a reset makes them. */
  restart(cause = "WDT"): void {
    this.#allOff();
    this.#armed = false;
    this.#limits.clear();
    this.#push({ kind: "restarted", cause, bootCount: 2 });
  }

  loseLink(reason = "cable pulled"): void {
    this.#linkLost = true;
    this.#push({ kind: "link-lost", reason });
  }

  /** Lows stand here while the heater rail is below so many volts. */
  weakenBelow(heaterV: number, lowV: number): void {
    this.#weak = { heaterV, lowV };
  }

  #lowOf(net: string): number {
    if (this.#weak !== null && this.trueV("heater") < this.#weak.heaterV) return this.#weak.lowV;
    return this.#board.weakLowV[net] ?? this.#board.lowV;
  }

  /** The latch goes over by itself, whatever its inputs say: a glitch. */
  flip(): void {
    this.#q = !this.#q;
  }

  /** Supply volts changed by hand while the rail is on. */
  setSupply(rail: RailName, volts: number): void {
    this.mishaps.supplyV.set(rail, volts);
    if (this.isOn(rail)) this.#move(rail, volts, 5);
  }

  isOn(rail: RailName): boolean {
    return this.#rails.get(rail)?.on ?? false;
  }

  trueV(rail: RailName): number {
    const state = this.#rails.get(rail);
    if (state === undefined) return 0;
    const { fromV, toV, sinceMs, tauMs } = state;
    return toV + (fromV - toV) * Math.exp(-(this.#clock.nowMs() - sinceMs) / tauMs);
  }

  lineLevel(line: string): DrivenLevel {
    return this.mishaps.stuckLines.get(line) ?? this.#lines.get(line) ?? "low";
  }

  // The Bench port ---------------------------------------------------------------------------

  async switchRail(rail: RailName, on: boolean): Promise<void> {
    await this.#request("switchRail", `switchRail ${rail} ${on ? "on" : "off"}`);
    if (on) this.#refuseSwitchOn(rail);
    if (on) this.#keepWatch();
    if (!on && this.mishaps.weldedRails.has(rail)) return;
    this.#switch(rail, on);
    this.#watchDeadMan();
  }

  async pulse(levels: Readonly<Record<string, DrivenLevel>>, us: number): Promise<void> {
    const before = Object.keys(levels).map((line) => [line, this.lineLevel(line)] as const);
    await this.setLines(levels);
    await this.#clock.delay(us / 1000);
    await this.setLines(Object.fromEntries(before));
  }

  async setLines(levels: Readonly<Record<string, DrivenLevel>>): Promise<void> {
    const text = Object.entries(levels).map(([line, level]) => `${line}=${level}`);
    await this.#request("setLines", `setLines ${text.join(" ")}`);
    for (const [line, level] of Object.entries(levels)) this.#lines.set(line, level);
    this.#settleLatch();
  }

  async read(channels: readonly string[], samples: number): Promise<RawReading[]> {
    await this.#request("read", `read ${channels.join(" ")}`);
    return channels.map((channel) => {
      const code = this.#code(channel);
      return { channel, sum: code * samples, count: samples, min: code, max: code };
    });
  }

  readOnce(channels: readonly string[]): Promise<RawReading[]> {
    return this.read(channels, 1);
  }

  async readSpread(channels: readonly string[], samples: number): Promise<RawReading[]> {
    await this.#clock.delay(channels.length * samples);
    return this.read(channels, samples);
  }

  async scanRails(): Promise<RailScan> {
    await this.#request("scanRails", null);
    return this.#scan();
  }

  async railTrail(channel: string): Promise<RailTrail> {
    await this.#request("railTrail", null);
    if (!this.#link.hasTrail) throw refused("MEAS:RAIL:TRA?", -113, "Undefined header");
    const newest = this.#kept.at(-1);
    if (newest === undefined) return { scan: this.#scan().scan, codes: [] };
    return { scan: newest.scan, codes: this.#kept.map(({ codes }) => codes[channel] ?? 0) };
  }

  async setTripLimits(limits: readonly TripLimit[]): Promise<void> {
    await this.#request(
      "setTripLimits",
      `setTripLimits ${limits.map(({ channel }) => channel).join(" ")}`,
    );
    for (const limit of limits) this.#limits.set(limit.channel, limit);
  }

  async armTrips(armed: boolean): Promise<void> {
    await this.#request("armTrips", `armTrips ${armed ? "on" : "off"}`);
    if (!armed && this.isOn("plate")) throw refused("TRIP:ARM OFF", 110, "Plate is on");
    this.#armed = armed;
  }

  async clearTrip(): Promise<void> {
    await this.#request("clearTrip", "clearTrip");
    this.#latched = null;
  }

  async setPlateFallenCode(code: number): Promise<void> {
    await this.#request("setPlateFallenCode", `setPlateFallenCode ${code}`);
  }

  async feed(scan: number): Promise<void> {
    await this.#request("feed", null);
    if (scan === this.#lastFed) throw refused("SYST:FEED", 106, "Scan too old to feed");
    this.#lastFed = scan;
    this.#watchDeadMan();
  }

  async orderedOff(): Promise<void> {
    await this.#request("orderedOff", "orderedOff");
    this.#orderedOff();
  }

  onEvent(listener: (event: BenchEvent) => void): () => void {
    this.#listeners.add(listener);
    return () => {
      this.#listeners.delete(listener);
    };
  }

  async close(): Promise<void> {
    this.#linkLost = true;
  }

  // The world behind it ----------------------------------------------------------------------

  async #request(method: keyof Bench, text: string | null): Promise<void> {
    if (text !== null) this.requests.push(text);
    this.#checkRules();
    if (this.#linkLost)
      throw new BenchError("link-lost", { port: "scripted", reason: "cable pulled" });
    if (this.mishaps.hung.has(method)) await new Promise(() => undefined);
    await this.#clock.delay(this.#link.exchangeMs);
    this.#checkTrips();
    if (this.#linkLost)
      throw new BenchError("link-lost", { port: "scripted", reason: "cable pulled" });
  }

  #refuseSwitchOn(rail: RailName): void {
    const command = `ROUT:CLOS ${rail}`;
    if (this.#latched === "trip") throw refused(command, 101, "Trip latched");
    if (this.#latched === "dead-man") throw refused(command, 102, "Dead-man fired");
    if (rail !== "heater" && !this.isOn("heater")) throw refused(command, 104, "Heater not on");
    if (rail !== "plate") return;
    if (!this.#armed) throw refused(command, 105, "Trips not armed");
    const limit = this.#limits.get("bias.board");
    const code = this.#code("bias.board");
    if (limit === undefined || code < limit.low || code > limit.high) {
      throw refused(command, 103, "Bias outside its armed window");
    }
  }

  #switch(rail: RailName, on: boolean): void {
    const state = this.#rails.get(rail);
    if (state === undefined) return;
    if (rail === "heater") this.#heaterOnMs = on ? this.#clock.nowMs() : null;
    state.on = on;
    if (!on) this.#keepScans();
    const nominalV = this.#plan.rails.find((one) => one.rail === rail)?.nominalV ?? 0;
    const supplyV = this.mishaps.supplyV.get(rail) ?? nominalV;
    this.#move(rail, on ? supplyV : 0, on ? 15 : this.#board.fallMs[rail]);
  }

  #move(rail: RailName, toV: number, tauMs: number): void {
    const state = this.#rails.get(rail);
    if (state === undefined) return;
    state.fromV = this.trueV(rail);
    state.toV = toV;
    state.tauMs = tauMs;
    state.sinceMs = this.#clock.nowMs();
  }

  #checkTrips(): void {
    if (!this.#armed || this.#latched !== null) return;
    for (const { channel, low, high } of this.#limits.values()) {
      const code = this.#code(channel);
      if (code < low || code > high) {
        this.trip(channel, code);
        return;
      }
    }
  }

  /** The controller's own way down: plate and lines, then bias and heater. */
  #orderedOff(): void {
    if (!this.mishaps.weldedRails.has("plate")) this.#switch("plate", false);
    for (const line of this.#plan.lines) this.#lines.set(line.line, line.releasedLevel ?? "low");
    this.#clock.setTimeout(() => {
      for (const rail of ["bias", "heater"] as const) {
        if (this.isOn(rail) && !this.mishaps.weldedRails.has(rail)) this.#switch(rail, false);
      }
    }, 300);
  }

  #allOff(): void {
    for (const { rail } of this.#plan.rails) {
      if (this.isOn(rail) && !this.mishaps.weldedRails.has(rail)) this.#switch(rail, false);
    }
    for (const line of this.#plan.lines) this.#lines.set(line.line, line.releasedLevel ?? "low");
  }

  #watchDeadMan(): void {
    this.#clock.clearTimeout(this.#deadMan);
    const anyOn = this.#plan.rails.some(({ rail }) => this.isOn(rail));
    if (!anyOn) return;
    this.#deadMan = this.#clock.setTimeout(() => {
      this.#latched = "dead-man";
      this.#orderedOff();
      this.#push({ kind: "dead-man", atMs: this.#clock.nowMs() });
    }, 600);
  }

  #push(event: BenchEvent): void {
    if (this.#linkLost && event.kind !== "link-lost") return;
    for (const listener of [...this.#listeners]) listener(event);
  }

  /** From the first rail on, the rules are looked at whether or not the host still asks. */
  #keepWatch(): void {
    if (this.#isWatching) return;
    this.#isWatching = true;
    const look = (): void => {
      this.#checkRules();
      this.#clock.setTimeout(look, RULE_CHECK_MS);
    };
    look();
  }

  #scan(): RailScan {
    if (!this.mishaps.scanFrozen) this.#scannedMs = this.#clock.nowMs();
    const scans = Math.floor(this.#scannedMs / SCAN_PERIOD_MS);
    const names = this.#plan.rails.flatMap((rail) => [rail.sourceChannel, rail.boardChannel]);
    return {
      scan: (this.#link.firstScan + scans) % 65536,
      codes: Object.fromEntries(names.map((name) => [name, this.#code(name)])),
    };
  }

  #keepScans(): void {
    if (this.#isKeeping) return;
    this.#isKeeping = true;
    const keep = (): void => {
      if (!this.mishaps.scanFrozen) this.#kept.push(this.#scan());
      if (this.#kept.length > TRAIL_SCANS) this.#kept.shift();
      this.#clock.setTimeout(keep, SCAN_PERIOD_MS);
    };
    keep();
  }

  /** Judged from the true volts: the host's own words are not believed. */
  #checkRules(): void {
    const [plateV, biasV] = [this.trueV("plate"), this.trueV("bias")];
    const plate = this.#plan.rails.find(({ rail }) => rail === "plate");
    const bias = this.#plan.rails.find(({ rail }) => rail === "bias");
    if (plate === undefined || bias === undefined) return;
    const biasGood = biasV >= bias.window.lowV && biasV <= bias.window.highV;
    if (plateV > plate.safeV && !biasGood) {
      this.violations.push(
        `${this.#clock.nowMs()} ms: plate ${plateV.toFixed(1)} V with bias ${biasV.toFixed(1)} V`,
      );
    }
  }

  #settleLatch(): void {
    if (this.lineLevel("SET") === "high") this.#q = true;
    else if (this.lineLevel("RESET") === "high") this.#q = false;
    else if (this.#board.forgets) this.#q = false;
  }

  #trueVolts(channel: PlannedChannel): number {
    const { reads } = channel;
    switch (reads.kind) {
      case "rail": {
        const nominalV = this.#plan.rails.find(({ rail }) => rail === reads.rail)?.nominalV ?? 0;
        const supplyV = this.mishaps.supplyV.get(reads.rail) ?? nominalV;
        return reads.at === "source" ? supplyV : this.trueV(reads.rail);
      }
      case "shunt": {
        const planned = this.#plan.rails.find(({ rail }) => rail === reads.rail);
        const { lowA = 0, highA = 0 } = planned?.current ?? {};
        const drawnA = this.mishaps.currentA.get(reads.rail) ?? (lowA + highA) / 2;
        const isOn = this.isOn(reads.rail) ? 1 : 0;
        return ((planned?.nominalV ?? 0) > 0 ? -1 : 1) * isOn * drawnA * reads.ohm;
      }
      case "line":
        return this.lineLevel(reads.line) === "high" ? Math.max(0, this.trueV("plate") - 4) : 0;
      case "net":
        return this.#netVolts(reads.net) + this.mishaps.groundV;
      case "reference":
        return reads.volts;
      case "ground":
        return this.mishaps.groundV;
      case "temperature":
        return reads.zeroV + 22 * reads.voltsPerK;
    }
  }

  #netVolts(net: string): number {
    const plateV = this.trueV("plate");
    const heatedMs = this.#heaterOnMs === null ? 0 : this.#clock.nowMs() - this.#heaterOnMs;
    const isWarm = heatedMs >= this.#board.warmAfterMs && !this.#board.dead.includes(net);
    const isLow = net === "Q" ? !this.#q : this.#q;
    const share = Math.max(0, plateV / 48);
    if (isWarm && isLow) return this.#lowOf(net) * share;
    return this.#board.highV * share;
  }

  /** Node-top-pin, pin-bottom-common, pin-pullUp-reference, by Kirchhoff's current law. */
  #code(name: string): number {
    const channel = this.#plan.channels.find((one) => one.name === name);
    if (channel === undefined) throw new Error(`The script knows no channel ${name}.`);
    const { topOhm, bottomOhm, pullUpOhm } = channel.divider;
    const isOpen = this.mishaps.openLeads.has(name);
    const referenceV = this.mishaps.referenceV ?? channel.referenceV;
    const intoPin =
      (isOpen ? 0 : this.#trueVolts(channel) / topOhm) +
      (pullUpOhm === null ? 0 : referenceV / pullUpOhm);
    const outOfPin =
      (isOpen ? 0 : 1 / topOhm) + 1 / bottomOhm + (pullUpOhm === null ? 0 : 1 / pullUpOhm);
    const code = Math.floor((1024 * intoPin) / outOfPin / referenceV);
    return Math.min(1023, Math.max(0, code));
  }
}

function refused(command: string, number: number, text: string): BenchError {
  return new BenchError("refused", { command, number, text, attempt: 1 });
}
