/**
 * Outputs of a modelled controller and the rules it keeps by itself: interlocks, trips, dead-man, ordered off,
 * counters (firmware-protocol/PROTOCOL.md, sections 6, 7 and 9).
 */
import { QUIET_STEPS } from "../fixture.ts";
import type { Agenda } from "./agenda.ts";
import { ClosingCounts } from "./closing-counts.ts";
import type { KeptMemory } from "./kept-memory.ts";
import { Refusal } from "./refusal.ts";
import type { ScanTrail } from "./scan-trail.ts";
import type { StatusSide } from "./status-side.ts";

const HEATER = 1;
const BIAS = 2;
const PLATE = 4;
export const RAILS = 7;
export const LINES = 0xf8;
const BIAS_BOARD = 4;
const PLATE_BOARD = 6;
const CODE_MAX = 1023;
const FEED_AGE_MAX = 64;
const FALL_MS = 300;
const RELEASE_MS = 20;
const DEADMAN_MS = 600;

export interface PowerHooks {
  readonly moved: (mask: number) => void;
  readonly push: (body: string) => void;
  /** An ordered off begins: what is timed ends. */
  readonly orderBegun: () => void;
}

export class PowerSide {
  outputs = 0;
  armed = false;
  deadmanMs = DEADMAN_MS;
  fallCode = 0;
  stage: "IDLE" | "PLATE" | "BIAS" | "DONE" = "IDLE";
  readonly limits: [number, number][] = Array.from({ length: 6 }, () => [0, CODE_MAX]);
  readonly trail: ScanTrail;
  trip: { channel: number; code: number; ms: number } | null = null;
  readonly counts: ClosingCounts;
  #deadmanFired = false;
  #fedMs = 0;
  #fedScan = 0;
  #outside: boolean[] = new Array(6).fill(false);
  /** Codes of the newest scan that was looked at. */
  #looked: readonly number[] = [];
  #stageMs = 0;
  #fallInUse = 0;
  #fallBelieved = false;
  #fallen = 0;
  readonly #agenda: Agenda;
  readonly #beganUs: number;
  readonly #status: StatusSide;
  readonly #memory: KeptMemory;
  readonly #hooks: PowerHooks;

  constructor(parts: {
    readonly agenda: Agenda;
    readonly status: StatusSide;
    readonly memory: KeptMemory;
    readonly trail: ScanTrail;
    readonly hooks: PowerHooks;
  }) {
    this.#agenda = parts.agenda;
    this.#beganUs = parts.agenda.nowUs;
    this.trail = parts.trail;
    this.#status = parts.status;
    this.#memory = parts.memory;
    this.#hooks = parts.hooks;
    this.counts = new ClosingCounts(parts.memory);
  }

  /** Whole milliseconds since reset. */
  get nowMs(): number {
    return Math.floor((this.#agenda.nowUs - this.#beganUs) / 1000);
  }

  get orderRuns(): boolean {
    return this.stage === "PLATE" || this.stage === "BIAS";
  }

  get codes(): readonly number[] {
    return this.trail.newest;
  }

  /** Bits of mask go to states, without asking any rule. */
  move(mask: number, states: number): void {
    const before = this.outputs;
    this.outputs = (before & ~mask) | (states & mask);
    if (this.outputs === before) return;
    this.counts.moved(before, this.outputs);
    this.#hooks.moved(this.outputs);
  }

  /** @throws Refusal when anything may not close now */
  assertMayClose(): void {
    if (this.trip !== null) throw new Refusal(101);
    if (this.#deadmanFired) throw new Refusal(102);
    if (this.orderRuns) throw new Refusal(112);
    if (this.#memory.forbids) throw new Refusal(116);
  }

  /** Move by the rules, or not at all. */
  change(mask: number, states: number): void {
    const closing = mask & states;
    const opening = mask & ~states & this.outputs;
    if (closing !== 0) {
      this.assertMayClose();
      if ((closing & (BIAS | PLATE)) !== 0 && (this.outputs & HEATER) === 0) throw new Refusal(104);
      if ((closing & PLATE) !== 0) {
        if (!this.armed) throw new Refusal(105);
        if (!this.#biasProved()) throw new Refusal(103);
      }
    }
    if ((opening & (HEATER | BIAS)) !== 0) {
      if ((this.outputs & PLATE) !== 0) throw new Refusal(110);
      if (this.orderRuns) throw new Refusal(112);
    }
    this.move(mask, states);
    if (closing !== 0) this.forgetOrder();
  }

  forgetOrder(): void {
    if (this.stage === "DONE") this.stage = "IDLE";
  }

  #biasProved(): boolean {
    const [low, high] = this.limits[BIAS_BOARD - 1] ?? [0, CODE_MAX];
    const narrow = low > 0 || high < CODE_MAX;
    const code = this.codes[BIAS_BOARD - 1] ?? 0;
    return (this.outputs & BIAS) !== 0 && narrow && code >= low && code <= high;
  }

  setLimit(channel: number, low: number, high: number): void {
    if (low > high) throw new Refusal(-222);
    const plain = low === 0 && high === CODE_MAX;
    if (channel === BIAS_BOARD && plain && (this.outputs & PLATE) !== 0) throw new Refusal(110);
    this.limits[channel - 1] = [low, high];
    this.#outside[channel - 1] = false;
  }

  arm(on: boolean): void {
    if (on) this.assertMayClose();
    else if ((this.outputs & PLATE) !== 0) throw new Refusal(110);
    this.#arm(on);
  }

  #arm(on: boolean): void {
    if (on !== this.armed) this.#outside = new Array(6).fill(false);
    this.armed = on;
  }

  clearLatches(): void {
    if (this.outputs !== 0) throw new Refusal(111);
    this.trip = null;
    this.#deadmanFired = false;
  }

  feed(number: number): void {
    const scans = this.trail.number;
    const age = (scans - number) & 0xffff;
    const full = scans - age;
    if (age > FEED_AGE_MAX || age >= scans || full <= this.#fedScan) throw new Refusal(106);
    this.#fedScan = full;
    this.#fedMs = this.nowMs;
  }

  /** Forget settings and go off in order. */
  reset(): void {
    this.orderOff();
    this.#arm(false);
    for (const [at] of this.limits.entries()) this.limits[at] = [0, CODE_MAX];
    this.deadmanMs = DEADMAN_MS;
    this.fallCode = 0;
  }

  orderOff(): void {
    if (this.orderRuns) return;
    this.#hooks.orderBegun();
    const wasOn = this.outputs;
    this.move(PLATE | LINES, 0);
    this.#arm(false);
    this.#fallInUse = this.fallCode;
    this.#fallen = 0;
    const plateCode = this.codes[PLATE_BOARD - 1] ?? 0;
    this.#fallBelieved = (wasOn & PLATE) === 0 || plateCode > this.#fallInUse;
    this.stage = "PLATE";
    this.#stageMs = this.nowMs;
    if ((wasOn & (BIAS | HEATER)) === 0) this.#openBias();
  }

  #openBias(): void {
    this.move(BIAS | HEATER, 0);
    this.stage = "BIAS";
    this.#stageMs = this.nowMs;
  }

  scanned(codes: readonly number[]): void {
    this.trail.take(codes);
    this.#looked = codes;
    if (this.armed && this.trip === null) this.#judge(codes);
    if (this.stage !== "PLATE" || !this.#fallBelieved) return;
    this.#fallen = (codes[PLATE_BOARD - 1] ?? 0) <= this.#fallInUse ? this.#fallen + 1 : 0;
    if (this.#fallen >= 2) this.#openBias();
  }

  #judge(codes: readonly number[]): void {
    for (let at = 0; at < codes.length; at += 1) {
      const [low, high] = this.limits[at] as readonly [number, number];
      const code = codes[at] ?? 0;
      const outside = code < low || code > high;
      if (outside && this.#outside[at] === true) {
        this.trip = { channel: at + 1, code, ms: this.nowMs };
        this.#status.queue(101);
        this.orderOff();
        this.#hooks.push(`TRIP ${at + 1},${code},${this.nowMs}`);
        return;
      }
      this.#outside[at] = outside;
    }
  }

  /** Once a millisecond. */
  tick(): void {
    const { nowMs } = this;
    if ((this.outputs & RAILS) === 0 || this.orderRuns) {
      this.#fedMs = nowMs;
    } else if (!this.#deadmanFired && nowMs - this.#fedMs >= this.deadmanMs) {
      this.#deadmanFired = true;
      this.#status.queue(102);
      this.orderOff();
      this.#hooks.push(`DEAD ${nowMs}`);
    }
    if (this.stage === "PLATE" && nowMs - this.#stageMs >= FALL_MS) this.#openBias();
    else if (this.stage === "BIAS" && nowMs - this.#stageMs >= RELEASE_MS) {
      this.stage = "DONE";
      this.#hooks.push(`OFF ${nowMs}`);
    }
    this.#status.look(this.orderRuns);
    this.counts.tick(nowMs, this.outputs);
  }

  /** The next tick at which something is due if nothing happens before, ms since reset; 0 when it may be any. */
  dueMs(): number {
    if (this.orderRuns) return 0;
    const isFeedDue = (this.outputs & RAILS) !== 0 && !this.#deadmanFired;
    const feedMs = isFeedDue ? this.#fedMs + this.deadmanMs : Number.POSITIVE_INFINITY;
    return Math.min(feedMs, this.counts.dueMs(this.outputs));
  }

  /** Whether scans that differ from the one looked at by no more than a quiet rail's noise change nothing. */
  mayPassScans(): boolean {
    if (this.orderRuns) return false;
    if (!this.armed || this.trip !== null) return true;
    for (let at = 0; at < this.limits.length; at += 1) {
      const [low, high] = this.limits[at] as readonly [number, number];
      const code = this.#looked[at] ?? 0;
      if (low !== 0 && code - QUIET_STEPS < low) return false;
      if (high !== CODE_MAX && code + QUIET_STEPS > high) return false;
    }
    return true;
  }

  /** So many scans, and the ticks up to this moment since reset, went by without a thing to be done. */
  passOver(nowMs: number, scans: number): void {
    if ((this.outputs & RAILS) === 0) this.#fedMs = nowMs;
    this.counts.tick(nowMs, this.outputs);
    this.trail.passOver(scans);
  }
}
