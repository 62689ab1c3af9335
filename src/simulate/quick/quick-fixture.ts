/**
 * A fixture for nights: the same circuit, rig and pins as `BenchFixture`, on a board that keeps its
 * settled states. The first time that a switching is seen it is solved in full, with bounce; from then
 * on contacts move once, and only pins lag behind.
 */
import type { RailName } from "../../events/levels.ts";
import type { Scenario } from "../../formats/scenario.schema.ts";
import { BenchWiring, type WiringOptions } from "../fixture/bench-wiring.ts";
import { EventQueue } from "../fixture/event-queue.ts";
import { MAINS_HZ_USUAL, PinNoise } from "../fixture/pin-noise.ts";
import { Pins } from "../fixture/pins.ts";
import type { Fixture, PartChange } from "../fixture.ts";
import { type Appoint, appointNight, type NightHands } from "../night/night-events.ts";
import { NightValues } from "../night/night-values.ts";
import { arrivalS, ContactWork, type Moving, targetOf } from "./contact-work.ts";
import { KeptBoard } from "./kept-board.ts";

export interface QuickFixtureOptions extends WiringOptions {
  readonly changes?: readonly PartChange[];
  /** What befalls this bench. */
  readonly scenario?: Scenario;
}

/** How often slow values are set on a board that its transient moves. */
const SLOW_S = 0.5;
/** Rail pins are where they go by then: ten kilohms and ten nanofarads, ten times over. */
const PINS_LAG_S = 0.001;
const DUST_S = 1e-12;
/** At rest, for what is to be kept; and just before the next switching, when it has to be decided. */
const AT_REST_V = 0.002;
const NEARLY_V = 0.3;
/** Whether the board has come to rest is asked first after this, then ever less often. */
const FIRST_LOOK_S = 0.004;
const LOOK_SHARE = 0.25;

export function createQuickFixture(options: QuickFixtureOptions): QuickFixture {
  return new QuickFixture(options);
}

export class QuickFixture implements Fixture {
  readonly #wiring: BenchWiring;
  readonly #board: KeptBoard;
  readonly #pins: Pins;
  readonly #night: NightValues | null;
  readonly #contacts: ContactWork;
  /** Changes and what a night brings. */
  readonly #happenings = new EventQueue();
  readonly #inForce = new Map<string, number>();
  /** On their way to where the kept board will be switched. */
  #moving: readonly Moving[] = [];
  #mask = 0;
  #coilSupply = true;
  #looseS = 0;
  /** Nothing happens before this, and the board is kept. */
  #calmUntilS = Number.NEGATIVE_INFINITY;
  /** When pins last began to move otherwise. */
  #switchedS = Number.NEGATIVE_INFINITY;
  /** Moment that slow values are set for. */
  #slowAtS = Number.NaN;
  /** When slow values were last set on a board that its transient moves. */
  #slowS = 0;
  #lookS = 0;

  constructor(options: QuickFixtureOptions) {
    const { rig, seed, scenario } = options;
    this.#wiring = new BenchWiring(options);
    this.#contacts = new ContactWork(this.#wiring);
    const { changes = [] } = options;
    for (const change of changes) if (change.atMs === null) this.#apply(change);
    this.#wiring.wireAll();
    this.#board = new KeptBoard({
      model: this.#wiring.model,
      railMask: this.#contacts.railMask,
      place: (mask) => this.#contacts.place(mask),
      slow: (seconds, fromS) => this.#setSlow(seconds, fromS),
      nextHappeningS: () => this.#happenings.nextS,
    });
    this.#night = scenario === undefined ? null : new NightValues(scenario, rig, this.#wiring);
    if (scenario !== undefined && this.#night !== null) {
      this.#setSlow(0, null);
      appointNight(scenario, this.#night.jointOhm, this.#nightHands());
    }
    for (const change of changes) {
      if (change.atMs !== null) this.#scheduleChange(change, change.atMs / 1000);
    }
    this.#board.under(this.#circumstances());
    const noise = new PinNoise(seed, rig.referenceV, MAINS_HZ_USUAL, scenario?.noiseFactor);
    this.#pins = new Pins(this.#wiring, this.#board, noise);
  }

  setOutputs(mask: number, atMs: number): void {
    this.#mask = mask;
    this.#switchCoils(atMs / 1000);
  }

  setCoilSupply(present: boolean, atMs: number): void {
    this.#coilSupply = present;
    this.#switchCoils(atMs / 1000);
  }

  change(change: PartChange, atMs: number): void {
    this.#advance(atMs / 1000);
    this.#scheduleChange(change, Math.max(change.atMs ?? atMs, atMs) / 1000);
  }

  pinVolts(pin: number, muxAddress: number, atMs: number): number {
    return this.#pins.volts(pin, muxAddress, this.#advance(atMs / 1000));
  }

  /**
   * Until a contact moves, something happens to the board, or a stretch of slow time ends: until then rails
   * move by no more than supplies wander in a minute, and pins that were read are a function of the moment.
   */
  quietUntilMs(atMs: number): number {
    const seconds = this.#advance(atMs / 1000);
    if (!this.#board.isKept || seconds < this.#switchedS + PINS_LAG_S) return atMs;
    const untilS = Math.min(this.#contacts.queue.nextS, this.#happenings.nextS, this.#board.endS);
    return Math.max(atMs, 1000 * untilS);
  }

  railVolts(atMs: number): Readonly<Record<RailName, number>> {
    const seconds = this.#advance(atMs / 1000);
    return {
      heater: this.#railV("heater", seconds),
      bias: this.#railV("bias", seconds),
      plate: this.#railV("plate", seconds),
    };
  }

  nodeVolts(atMs: number): Readonly<Record<string, number>> {
    const seconds = this.#advance(atMs / 1000);
    const volts: Record<string, number> = {};
    for (const [node, name] of this.#wiring.model.nodeNames.entries()) {
      volts[name] = this.#board.voltsAt(node, seconds);
    }
    return volts;
  }

  #railV(rail: RailName, seconds: number): number {
    const { model } = this.#wiring;
    return model.hasNode(rail) ? this.#board.voltsAt(model.node(rail), seconds) : 0;
  }

  /** Bring the board over this moment. @returns the moment, or the newest one known */
  #advance(seconds: number): number {
    if (seconds <= this.#calmUntilS) return seconds;
    const board = this.#board;
    for (;;) {
      if (board.isKept) {
        const nextS = Math.min(this.#contacts.queue.nextS, this.#happenings.nextS, board.endS);
        if (nextS >= seconds) {
          this.#calmUntilS = nextS;
          return seconds;
        }
        this.#pins.commit(nextS);
        if (this.#contacts.queue.run(nextS)) continue;
        if (this.#happenings.run(nextS)) continue;
        board.extend();
        if (!board.isKept) this.#loosened(nextS);
      } else {
        if (board.transient.endS >= seconds) break;
        this.#step();
      }
    }
    return Math.max(seconds, board.beginS);
  }

  /** Something is about to happen that was not foreseen. */
  #stir(): void {
    this.#calmUntilS = Number.NEGATIVE_INFINITY;
  }

  /** One step of the transient, or the end of them. */
  #step(): void {
    const { transient } = this.#board;
    this.#pins.commit(transient.endS);
    if (this.#contacts.queue.run(transient.endS + DUST_S)) transient.disturb();
    this.#happenings.run(transient.endS + DUST_S);
    if (transient.endS >= this.#slowS + SLOW_S) {
      this.#setSlow(transient.endS, null);
      this.#slowS = transient.endS;
    }
    if (transient.endS >= this.#lookS && transient.endS > this.#contacts.untilS) {
      this.#lookS = transient.endS + LOOK_SHARE * (transient.endS - this.#looseS);
      if (this.#board.settle(this.#contacts.positions(), AT_REST_V)) return;
    }
    transient.step(Math.min(this.#contacts.queue.nextS, this.#happenings.nextS));
  }

  #release(atS: number): void {
    this.#stir();
    if (!this.#board.isKept) return;
    this.#pins.commit(atS);
    this.#board.release(atS);
    this.#contacts.queue.drop("switch");
    const moving = this.#moving;
    this.#moving = [];
    this.#contacts.schedule(moving, atS);
    this.#loosened(atS);
  }

  /** From here on it is the transient that has to come to rest. */
  #loosened(atS: number): void {
    this.#looseS = atS;
    this.#lookS = Math.max(atS, this.#contacts.untilS) + FIRST_LOOK_S;
  }

  #switchCoils(atS: number): void {
    this.#advance(atS);
    const mask = this.#coilSupply ? this.#mask : 0;
    // What coils draw drops volts on a common ground at once.
    if (this.#wiring.measuring.ground.isThere) this.#switchedS = atS;
    this.#pins.coilMask = mask;
    const moving = this.#contacts.switchCoils(mask, atS);
    if (moving.length === 0) return;
    this.#stir();
    if (!this.#board.isKept) this.#settleNearly(atS);
    if (this.#board.isKept && this.#moving.length === 0) {
      const target = targetOf(this.#board.mask, moving);
      if (this.#board.knows(target)) {
        this.#moving = moving;
        const arriveS = arrivalS(moving);
        this.#contacts.queue.add(arriveS, "switch", () => this.#arrive(target, arriveS));
        return;
      }
      this.#board.watch(target);
    } else this.#board.watch(null);
    this.#release(atS);
    this.#contacts.schedule(moving, atS);
    this.#loosened(atS);
  }

  /** A board that is all but at rest when the next switching comes is taken to have settled. */
  #settleNearly(atS: number): void {
    const { transient } = this.#board;
    transient.cutAt(atS);
    this.#pins.commit(transient.endS);
    if (atS <= this.#contacts.untilS || this.#happenings.nextS <= atS) return;
    this.#board.settle(this.#contacts.positions(), NEARLY_V);
  }

  #arrive(target: number, atS: number): void {
    this.#moving = [];
    this.#switchedS = atS;
    if (this.#board.switchTo(target, atS)) return;
    // The state that was known is no more: see what becomes of it instead.
    this.#board.watch(target);
    this.#release(atS);
    this.#contacts.place(target);
    this.#board.transient.disturb();
  }

  #scheduleChange(change: PartChange, atS: number): void {
    this.#stir();
    this.#happenings.add(atS, "change", () => {
      this.#disturb(atS, [change], `${change.part} ${change.parameter}`, change.value);
    });
    if (!this.#board.isKept) this.#board.transient.cutAt(atS);
  }

  #apply(change: PartChange): void {
    this.#wiring.apply(change);
    this.#inForce.set(`${change.part} ${change.parameter}`, change.value);
  }

  /** Parts change at this moment; whatever was kept under other circumstances does not count now. */
  #disturb(
    atS: number,
    changes: readonly PartChange[],
    circumstance: string,
    value: number | null,
  ): void {
    this.#release(atS);
    this.#wiring.applyAll(changes);
    this.#setSlow(atS, null);
    if (value === null) this.#inForce.delete(circumstance);
    else this.#inForce.set(circumstance, value);
    this.#board.under(this.#circumstances());
    this.#board.transient.disturb();
    this.#loosened(atS);
  }

  #setSlow(seconds: number, fromS: number | null): void {
    if (this.#night === null) return;
    if (fromS !== null && fromS !== this.#slowAtS) {
      this.#wiring.applyAll(this.#night.changesAt(fromS));
    }
    this.#slowAtS = seconds;
    this.#wiring.ramp(fromS === null ? null : { fromS, toS: seconds });
    this.#wiring.applyAll(this.#night.changesAt(seconds));
  }

  #nightHands(): { readonly appoint: Appoint; readonly hands: NightHands } {
    let nowS = 0;
    return {
      appoint: (atS, happen) =>
        this.#happenings.add(atS, "night", () => {
          nowS = atS;
          happen(atS);
        }),
      hands: {
        change: (changes, circumstance, value) => this.#disturb(nowS, changes, circumstance, value),
        misread: (channel, addV, forMs) => this.#pins.misread(channel, addV, forMs / 1000),
        missContact: (name) => {
          const relay = this.#wiring.relays.get(name);
          if (relay !== undefined) relay.missesNext = true;
        },
      },
    };
  }

  /** Every change in force, whatever order they came in. */
  #circumstances(): string {
    return [...this.#inForce]
      .map(([what, value]) => `${what} ${value}`)
      .sort()
      .join("; ");
  }
}
