/** The Bench port over one controller connection. */
import type { Clock } from "../clock/clock.ts";
import type { DrivenLevel, RailName } from "../events/levels.ts";
import { Abilities } from "./abilities.ts";
import type {
  Bench,
  BenchEvent,
  ControllerIdentity,
  LinkUse,
  RailScan,
  RailTrail,
  RawReading,
  ReadUrgency,
  TripLimit,
} from "./bench.ts";
import { BenchError } from "./bench-error.ts";
import { ChannelReadings, ONCE_CHANNELS_MAX } from "./channel-readings.ts";
import { type ControllerLink, type LinkCounters, REPLY_DEADLINE_MS } from "./controller-link.ts";
import {
  type ControllerHealth,
  forgetRig,
  keepRig,
  readHealth,
  readStoredRig,
  type StoredRig,
} from "./controller-memory.ts";
import type { ControllerWatch } from "./controller-watch.ts";
import type { KeptCalibration } from "./kept-calibration.ts";
import {
  type CapabilityAnswer,
  CODE_MAX,
  readRailScan,
  readRailTrail,
  readStates,
} from "./replies.ts";
import { RoutineInquiry } from "./routine-inquiry.ts";
import { applySetting, expectOk, query, queryAs } from "./setting.ts";
import { SETTLE_US_MAX, TimedWork } from "./timed-work.ts";
import type { ControllerWiring, WiredRail } from "./wiring.ts";

/** A Bench that also tells what its wire has been through, and works on the controller's clock. */
export interface ControllerBench extends Bench {
  readonly counters: Readonly<LinkCounters>;
  /** @throws BenchError firmware-too-old */
  timed(): Promise<TimedWork>;
  /** What the controller knows beyond the first draft of the wire; empty for the oldest. */
  abilities(): Promise<ReadonlySet<string>>;
  /** Whether a trip is latched, from whenever. */
  isTripped(): Promise<boolean>;
  storedRig(): Promise<StoredRig>;
  /** Null from firmware that does not tell. */
  health(): Promise<ControllerHealth | null>;
  /** Write a rig's name into the controller, or nothing; refused while an output is on. */
  keepRig(rig: string | null, calibration?: KeptCalibration | null): Promise<readonly number[]>;
}

/** What a controller must know for all of TimedWork. */
const TIMED_ABILITIES = ["STEP", "BLOCK", "PULSE", "STAGGER", "TRAIN", "BURST"];

export interface ControllerBenchParts {
  readonly clock: Clock;
  readonly link: ControllerLink;
  readonly watch: ControllerWatch;
  readonly wiring: ControllerWiring;
  readonly identity: ControllerIdentity;
  readonly capability: CapabilityAnswer;
}

export class WiredControllerBench implements ControllerBench {
  readonly identity: ControllerIdentity;
  readonly #clock: Clock;
  readonly #link: ControllerLink;
  readonly #watch: ControllerWatch;
  readonly #wiring: ControllerWiring;
  readonly #railChannels: readonly (readonly [name: string, number: number])[];
  /** How often each output was asked off: a closing that waited meanwhile is not sent any more. */
  readonly #offs = new Map<number, number>();
  #offsAsked = 0;
  readonly #inquiry: RoutineInquiry;
  readonly #readings: ChannelReadings;
  readonly #timed: TimedWork;
  readonly #abilities: Abilities;

  constructor(parts: ControllerBenchParts) {
    this.identity = parts.identity;
    this.#clock = parts.clock;
    this.#inquiry = new RoutineInquiry(parts.clock, parts.watch);
    this.#link = parts.link;
    this.#watch = parts.watch;
    this.#wiring = parts.wiring;
    this.#readings = new ChannelReadings({
      link: parts.link,
      capability: parts.capability,
      channel: (name) => this.#channel(name),
      offsAsked: () => this.#offsAsked,
    });
    this.#timed = new TimedWork({
      link: parts.link,
      clock: parts.clock,
      wiring: parts.wiring,
      mayClose: () => this.#mayCloseLines(),
    });
    parts.watch.pushes = this.#timed;
    this.#abilities = new Abilities(parts.link, parts.identity.firmware);
    this.#railChannels = [...parts.wiring.channels].filter(([, number]) => number <= 6);
  }

  get counters(): Readonly<LinkCounters> {
    return this.#link.counters;
  }

  async switchRail(rail: RailName, on: boolean): Promise<void> {
    const { output } = this.#rail(rail);
    if (on) {
      await this.#switch(new Map([[output, true]]), `ROUT:CLOS (@${output})`);
    } else {
      await this.#switchOff([output], `ROUT:OPEN (@${output})`);
    }
  }

  async setLines(levels: Readonly<Record<string, DrivenLevel>>): Promise<void> {
    const states = new Map<number, boolean>();
    for (const [name, level] of Object.entries(levels)) {
      const line = this.#wiring.lines.get(name);
      if (line === undefined) throw new BenchError("unknown-name", { kind: "line", name });
      states.set(line.output, level !== line.releasedLevel);
    }
    if (states.size === 0) return;
    const mask = maskOf([...states.keys()]);
    const closed = maskOf([...states].filter(([, close]) => close).map(([output]) => output));
    await this.#switch(states, `ROUT:SET ${mask},${closed}`);
  }

  async pulse(levels: Readonly<Record<string, DrivenLevel>>, us: number): Promise<void> {
    if ((await this.abilities()).has("PULSE")) {
      await this.#timed.pulse(levels, us);
      return;
    }
    const back = Object.entries(levels).map(
      ([line, level]) => [line, level === "high" ? "low" : "high"] as const,
    );
    await this.setLines(levels);
    await this.#clock.delay(us / 1000);
    await this.setLines(Object.fromEntries(back));
  }

  async timed(): Promise<TimedWork> {
    await this.#abilities.need(TIMED_ABILITIES);
    return this.#timed;
  }

  async train(channel: string, sets: number, intervalUs: number): Promise<readonly number[]> {
    const timed = await this.timed();
    const codes: number[] = [];
    const onCodes = (_: number, set: readonly number[]): void => {
      codes.push(...set);
    };
    await timed.train({ channels: [channel], sets, intervalUs, onCodes });
    return codes;
  }

  async deadManMs(): Promise<number> {
    return Number(await query(this.#link, "SYST:DEAD?", "work"));
  }

  storedRig(): Promise<StoredRig> {
    return readStoredRig(this.#link);
  }

  async health(): Promise<ControllerHealth | null> {
    return readHealth(this.#link, await this.abilities());
  }

  async keepRig(
    rig: string | null,
    calibration: KeptCalibration | null = null,
  ): Promise<readonly number[]> {
    await this.#abilities.need(["STORE"]);
    if (rig !== null) return keepRig(this.#link, rig, calibration);
    await forgetRig(this.#link);
    return [];
  }

  abilities(): Promise<ReadonlySet<string>> {
    return this.#abilities.known();
  }

  /** What is asked off after this keeps a command that may close lines from being sent. */
  #mayCloseLines(): () => BenchError | null {
    const before = this.#offsAsked;
    return () =>
      this.#offsAsked === before
        ? this.#afterRestart()
        : new BenchError("overtaken", { command: "timed work" });
  }

  read(
    channels: readonly string[],
    samples: number,
    urgency: ReadUrgency = "work",
  ): Promise<RawReading[]> {
    return this.#readings.read(channels, samples, urgency);
  }

  readSpread(channels: readonly string[], samples: number): Promise<RawReading[]> {
    return this.#readings.spread(channels, samples);
  }

  readOnce(channels: readonly string[]): Promise<RawReading[]> {
    return this.#readings.once(channels);
  }

  async step(
    levels: Readonly<Record<string, DrivenLevel>>,
    settleMs: number,
    channels: readonly string[],
  ): Promise<RawReading[]> {
    const settleUs = Math.round(settleMs * 1000);
    if (settleUs <= SETTLE_US_MAX && (await this.abilities()).has("STEP")) {
      const first = channels.slice(0, ONCE_CHANNELS_MAX);
      const rest = channels.slice(ONCE_CHANNELS_MAX);
      const read = await this.#timed.step({ levels, settleUs }, first);
      this.#watch.wasSwitchedOn();
      return rest.length === 0 ? read : [...read, ...(await this.#readings.once(rest))];
    }
    await this.setLines(levels);
    await this.#clock.delay(settleMs);
    return this.#readings.once(channels);
  }

  repeats(): number {
    return this.#link.counters.repeats;
  }

  linkUse(): LinkUse {
    return this.#link.use;
  }

  async scanRails(): Promise<RailScan> {
    const askedMs = this.#inquiry.asking();
    const asked = { body: "MEAS:RAIL?", urgency: "heartbeat" } as const;
    const { scan, codes } = await queryAs(this.#link, asked, readRailScan);
    const doubt = this.#inquiry.heard(scan, askedMs);
    if (doubt !== null) await this.#refuseOfAnother(doubt);
    const named: Record<string, number> = {};
    for (const [name, number] of this.#railChannels) named[name] = codes[number - 1] ?? 0;
    return { scan, codes: named };
  }

  /** Codes of a controller that has just begun anew say nothing of rails that the one before had on. */
  async #refuseOfAnother(doubt: Promise<void>): Promise<void> {
    const before = this.#watch.restarted;
    await doubt;
    const restarted = this.#watch.restarted;
    if (restarted !== before && restarted !== null) {
      throw new BenchError("controller-restarted", restarted);
    }
  }

  async railTrail(channel: string): Promise<RailTrail> {
    const found = this.#railChannels.find(([name]) => name === channel);
    if (found === undefined) {
      throw new BenchError("unknown-name", { kind: "channel", name: channel });
    }
    const asked = { body: `MEAS:RAIL:TRA? ${found[1]}`, urgency: "heartbeat" } as const;
    return await queryAs(this.#link, asked, readRailTrail);
  }

  async setTripLimits(limits: readonly TripLimit[]): Promise<void> {
    for (const { channel, low, high } of limits) {
      const number = this.#channel(channel);
      if (!isCode(low) || !isCode(high) || low > high) {
        throw new RangeError(
          `Trip limits are codes from 0 to ${CODE_MAX}, low <= high; got ${low}..${high} for ${channel}.`,
        );
      }
      await applySetting(this.#link, {
        body: `TRIP:LIM ${number},${low},${high}`,
        confirm: {
          query: `TRIP:LIM? ${number}`,
          happened: (answer) => answer === `${low},${high}`,
        },
      });
    }
  }

  async armTrips(armed: boolean): Promise<void> {
    await applySetting(this.#link, {
      body: `TRIP:ARM ${armed ? "ON" : "OFF"}`,
      withdrawn: () => (armed ? this.#afterRestart() : null),
      confirm: { query: "TRIP:ARM?", happened: (answer) => answer === (armed ? "1" : "0") },
    });
  }

  async isTripped(): Promise<boolean> {
    return (await query(this.#link, "TRIP:STAT?", "work")) !== "0";
  }

  async clearTrip(): Promise<void> {
    await applySetting(this.#link, {
      body: "TRIP:CLE",
      // A dead-man that is still latched shows at the next switching on, which it refuses.
      confirm: { query: "TRIP:STAT?", happened: (answer) => answer === "0" },
    });
    this.#watch.wasCleared();
  }

  async setPlateFallenCode(code: number): Promise<void> {
    if (!isCode(code)) {
      throw new RangeError(`The plate's fallen code is from 0 to ${CODE_MAX}; got ${code}.`);
    }
    await applySetting(this.#link, {
      body: `SYST:DEAD:FALL ${code}`,
      confirm: { query: "SYST:DEAD:FALL?", happened: (answer) => answer === String(code) },
    });
  }

  async feed(scan: number): Promise<void> {
    const body = `SYST:FEED ${scan}`;
    const asked = { body, urgency: "heartbeat", deadlineMs: REPLY_DEADLINE_MS } as const;
    // The scan number makes a repeat harmless: the controller takes each only once, and not for long.
    expectOk(body, await this.#link.ask({ ...asked, repeats: 1 }));
  }

  async orderedOff(): Promise<void> {
    this.#watch.offWasAsked();
    const wired = [...this.#wiring.rails.values(), ...this.#wiring.lines.values()];
    await this.#switchOff(
      wired.map(({ output }) => output),
      "ROUT:OPEN:ALL",
    );
  }

  onEvent(listener: (event: BenchEvent) => void): () => void {
    return this.#watch.subscribe(listener);
  }

  close(): Promise<void> {
    return this.#link.close();
  }

  async #switch(states: ReadonlyMap<number, boolean>, body: string): Promise<void> {
    const closing = [...states].filter(([, close]) => close).map(([output]) => output);
    const offsBefore = closing.map((output) => this.#offs.get(output));
    await applySetting(this.#link, {
      body,
      withdrawn: () => {
        if (closing.length === 0) return null;
        const overtaken = closing.some((output, at) => this.#offs.get(output) !== offsBefore[at]);
        return overtaken ? new BenchError("overtaken", { command: body }) : this.#afterRestart();
      },
      confirm: {
        query: `ROUT:CLOS? (@${[...states.keys()].join(",")})`,
        happened: (answer) => {
          const found = readStates(answer, states.size);
          return found !== null && [...states.values()].every((close, at) => found[at] === close);
        },
      },
    });
    if (closing.length > 0) this.#watch.wasSwitchedOn();
  }

  async #switchOff(outputs: readonly number[], body: string): Promise<void> {
    this.#offsAsked += 1;
    for (const output of outputs) this.#offs.set(output, (this.#offs.get(output) ?? 0) + 1);
    // Off twice is still off, so this one is repeated without asking first.
    const asked = { body, urgency: "off", deadlineMs: REPLY_DEADLINE_MS, repeats: 1 } as const;
    expectOk(body, await this.#link.ask(asked));
  }

  /** A controller that restarted is switched on again by a new connection only. */
  #afterRestart(): BenchError | null {
    const { restarted } = this.#watch;
    return restarted === null ? null : new BenchError("controller-restarted", restarted);
  }

  #rail(name: RailName): WiredRail {
    const rail = this.#wiring.rails.get(name);
    if (rail === undefined) throw new BenchError("unknown-name", { kind: "rail", name });
    return rail;
  }

  #channel(name: string): number {
    const number = this.#wiring.channels.get(name);
    if (number === undefined) throw new BenchError("unknown-name", { kind: "channel", name });
    return number;
  }
}

function isCode(value: number): boolean {
  return Number.isInteger(value) && value >= 0 && value <= CODE_MAX;
}

function maskOf(outputs: readonly number[]): number {
  return outputs.reduce((mask, output) => mask | (1 << (output - 1)), 0);
}
