/**
 * Work on the controller's own clock: steps, blocks of steps, pulses, trains and bursts of samples. No
 * USB latency is in any of it. Commands that switch are never sent twice: where a reply is lost, the
 * answer is an error and not a guess.
 */
import type { Clock } from "../clock/clock.ts";
import type { DrivenLevel } from "../events/levels.ts";
import type { RawReading } from "./bench.ts";
import { BenchError } from "./bench-error.ts";
import { type ControllerLink, REPLY_DEADLINE_MS } from "./controller-link.ts";
import { readSingleCodes } from "./replies.ts";
import { applySetting, expectOk, queryAs } from "./setting.ts";
import { readTimedPush, type TimedKind, type TimedPush } from "./timed-pushes.ts";
import type { ControllerWiring } from "./wiring.ts";

type Levels = Readonly<Record<string, DrivenLevel>>;

export interface TimedStep {
  readonly levels: Levels;
  /** 0 to 65535. */
  readonly settleUs: number;
}

/** One conversion of each channel, in the order asked. `at` counts steps or sets from 1. */
export type OnCodes = (at: number, codes: readonly number[]) => void;

export interface TimedEnd {
  /** Steps or sets that were told. */
  readonly count: number;
  /** `opened`: an output was opened; `off`: an ordered off or a latch; `lost`: nobody fetched. */
  readonly why: "done" | "stopped" | "opened" | "off" | "lost";
  /** Samples that began after their moment. */
  readonly late: number;
}

/** Longest settle of a step, microseconds. */
export const SETTLE_US_MAX = 65_535;
const STEPS_MAX = 32;
/** Slower than this at the pin, an edge says more of the filter than of the board. */
const FAST_FILTER_US = 20;
/** A step's conversions and the longest wait for a scan. */
const READ_MS = 10;
/** With nothing pushed for this long beyond what is due, the work counts as lost. */
const SILENCE_MS = 1000;
const WHY: Readonly<Record<string, TimedEnd["why"]>> = {
  DONE: "done",
  STOP: "stopped",
  OPEN: "opened",
  OFF: "off",
  LOST: "lost",
};

interface Open {
  readonly of: TimedKind;
  readonly command: string;
  readonly perSet: number;
  readonly dueMs: number;
  readonly onCodes: OnCodes;
  readonly settle: { resolve(end: TimedEnd): void; reject(error: BenchError): void };
  told: number;
  timer: unknown;
}

export class TimedWork {
  readonly #link: ControllerLink;
  readonly #clock: Clock;
  readonly #wiring: ControllerWiring;
  /** Taken before a command that may close lines: an error when an off overtook it. */
  readonly #mayClose: () => () => BenchError | null;
  #open: Open | null = null;

  constructor(parts: {
    readonly link: ControllerLink;
    readonly clock: Clock;
    readonly wiring: ControllerWiring;
    readonly mayClose: () => () => BenchError | null;
  }) {
    this.#link = parts.link;
    this.#clock = parts.clock;
    this.#wiring = parts.wiring;
    this.#mayClose = parts.mayClose;
  }

  /**
   * Drive lines, let them settle, and convert each channel once: one exchange with the controller.
   *
   * @throws RangeError for a settle beyond SETTLE_US_MAX
   * @throws BenchError as ControllerLink.ask does; unknown-name
   */
  async step(step: TimedStep, channels: readonly string[]): Promise<RawReading[]> {
    const body = `MEAS:STEP? ${this.#stepText(step)},${this.#list(channels)}`;
    const asked = {
      body,
      urgency: "work",
      deadlineMs: REPLY_DEADLINE_MS + step.settleUs / 1000 + READ_MS,
      withdrawn: this.#mayClose(),
    } as const;
    // Driving to the same levels twice and reading again is the same step.
    return queryAs(this.#link, asked, (answer) => readSingleCodes(answer, channels));
  }

  /**
   * Have the controller run steps by itself, round after round, while their codes come back. The
   * dead-man goes on: whoever asks for a block goes on feeding.
   *
   * @param steps at most 32
   * @throws RangeError, BenchError; reply-lost when codes are missing
   */
  async block(
    steps: readonly TimedStep[],
    asked: {
      readonly channels: readonly string[];
      readonly rounds: number;
      readonly onCodes: OnCodes;
    },
  ): Promise<TimedEnd> {
    if (steps.length === 0 || steps.length > STEPS_MAX) {
      throw new RangeError(`A block has 1 to ${STEPS_MAX} steps; got ${steps.length}.`);
    }
    const list = this.#list(asked.channels);
    const texts = steps.map((step) => this.#stepText(step));
    const mayClose = this.#mayClose();
    const blockIs = (pattern: RegExp) => ({
      query: "BLOC?",
      happened: (answer: string) => pattern.test(answer),
    });
    await applySetting(this.#link, { body: "BLOC:CLE", confirm: blockIs(/^0,0,0,0$/) });
    for (const [at, text] of texts.entries()) {
      const confirm = blockIs(new RegExp(`^${at + 1},0,`));
      await applySetting(this.#link, { body: `BLOC:STEP ${text}`, confirm });
    }
    const named = blockIs(new RegExp(`^${texts.length},${asked.channels.length},`));
    await applySetting(this.#link, { body: `BLOC:CHAN ${list}`, confirm: named });
    const body = `BLOC:RUN ${asked.rounds}`;
    const longestMs = Math.max(...steps.map(({ settleUs }) => settleUs)) / 1000;
    const end = this.#expect({
      of: "block",
      command: body,
      perSet: asked.channels.length,
      dueMs: longestMs + READ_MS,
      onCodes: asked.onCodes,
    });
    return this.#begun(end, () =>
      applySetting(this.#link, {
        body,
        withdrawn: mayClose,
        confirm: blockIs(/^\d+,\d+,(1,\d+|0,[1-9]\d*)$/),
      }),
    );
  }

  /** The block's end comes to whoever asked for it. */
  async stopBlock(): Promise<void> {
    const asked = { body: "BLOC:STOP", urgency: "work", deadlineMs: REPLY_DEADLINE_MS } as const;
    expectOk(asked.body, await this.#link.ask({ ...asked, repeats: 1 }));
  }

  /**
   * Lines go to these levels and, `us` later, back. Resolves when the pulse is over.
   *
   * @throws BenchError driver-too-slow when what drives a line takes longer than the pulse lasts
   * @throws BenchError reply-lost when it is not known whether the pulse was given
   */
  async pulse(levels: Levels, us: number): Promise<void> {
    for (const line of Object.keys(levels)) {
      const driverUs = this.#line(line).driverUs;
      if (us < driverUs) throw new BenchError("driver-too-slow", { line, us, driverUs });
    }
    const { mask, states } = this.#masks(levels);
    await this.#order(`ROUT:PULS ${us},${mask},${states}`);
    await this.#clock.delay(us / 1000);
  }

  /**
   * Lines move, those of `later` that many microseconds after the others: races in both orders.
   *
   * @param us 0, or 10 to 1000000
   */
  async stagger(first: Levels, later: Levels, us: number): Promise<void> {
    const all = this.#masks({ ...first, ...later });
    await this.#order(`ROUT:STAG ${us},${all.mask},${all.states},${this.#masks(later).mask}`);
    await this.#clock.delay(us / 1000);
  }

  /**
   * Sets of samples at an interval kept by the controller; 0 for as fast as it goes.
   *
   * @param asked.intervalUs the controller refuses one that leaves no time for its scans
   */
  async train(asked: {
    readonly channels: readonly string[];
    readonly sets: number;
    readonly intervalUs: number;
    readonly onCodes: OnCodes;
  }): Promise<TimedEnd> {
    const { channels, sets, intervalUs, onCodes } = asked;
    const command = `MEAS:TRA ${sets},${intervalUs},${this.#list(channels)}`;
    const perLine = Math.floor(15 / channels.length);
    const dueMs = (Math.max(intervalUs, 1000) * perLine) / 1000;
    const end = this.#expect({ of: "train", command, perSet: channels.length, dueMs, onCodes });
    return this.#begun(end, () => this.#order(command));
  }

  /**
   * Lines move, and `delayUs` after them fifty-six codes of one channel follow 13 us apart.
   *
   * @throws BenchError channel-not-fast where the pin's filter would hide the edge
   */
  async burst(channel: string, levels: Levels, delayUs: number): Promise<readonly number[]> {
    const filterUs = this.#wiring.filterUs.get(channel) ?? Number.POSITIVE_INFINITY;
    const number = this.#channel(channel);
    if (filterUs > FAST_FILTER_US) {
      throw new BenchError("channel-not-fast", { channel, filterUs, limitUs: FAST_FILTER_US });
    }
    const { mask, states } = this.#masks(levels);
    const command = `MEAS:BURS ${number},${mask},${states},${delayUs}`;
    const codes: number[] = [];
    const onCodes: OnCodes = (_, set) => codes.push(...set);
    const end = this.#expect({ of: "burst", command, perSet: 1, dueMs: 100, onCodes });
    await this.#begun(end, () => this.#order(command));
    return codes;
  }

  /** A pushed line; true when it belongs to timed work, whether anybody waits for it or not. */
  push(body: string, lostBefore: number): boolean {
    const push = readTimedPush(body);
    if (lostBefore > 0) this.#lose();
    if (push === null) return false;
    if (this.#open?.of === push.of) this.#take(this.#open, push);
    return true;
  }

  /** Nothing more comes: link lost, controller restarted. */
  fail(error: BenchError): void {
    this.#close()?.settle.reject(error);
  }

  #take(open: Open, push: TimedPush): void {
    if (push.kind === "end") {
      const why = WHY[push.why];
      if (why === undefined || push.count !== open.told) this.#lose();
      else this.#close()?.settle.resolve({ count: push.count, why, late: push.late });
      return;
    }
    const whole = push.codes.length % open.perSet === 0;
    if (!whole || push.first !== (open.told + 1) % 65_536) {
      this.#lose();
      return;
    }
    for (let from = 0; from < push.codes.length; from += open.perSet) {
      open.told += 1;
      open.onCodes(open.told, push.codes.slice(from, from + open.perSet));
    }
    this.#await(open);
  }

  #expect(what: Omit<Open, "settle" | "told" | "timer">): Promise<TimedEnd> {
    if (this.#open !== null) {
      throw new RangeError(`${this.#open.command} is still under way; wait for its end.`);
    }
    return new Promise((resolve, reject) => {
      this.#open = { ...what, settle: { resolve, reject }, told: 0, timer: null };
      this.#await(this.#open);
    });
  }

  /** Send what begins the work, and wait for its end; what fails to begin has none. */
  async #begun(end: Promise<TimedEnd>, begin: () => Promise<void>): Promise<TimedEnd> {
    try {
      await begin();
    } catch (error) {
      this.#close();
      throw error;
    }
    return end;
  }

  #await(open: Open): void {
    this.#clock.clearTimeout(open.timer);
    open.timer = this.#clock.setTimeout(() => this.#lose(), open.dueMs + SILENCE_MS);
  }

  #lose(): void {
    const open = this.#close();
    if (open === null) return;
    const facts = { command: open.command, attempts: 1, waitedMs: open.dueMs };
    open.settle.reject(new BenchError("reply-lost", facts));
  }

  #close(): Open | null {
    const open = this.#open;
    if (open !== null) this.#clock.clearTimeout(open.timer);
    this.#open = null;
    return open;
  }

  async #order(body: string): Promise<void> {
    const asked = { body, urgency: "work", deadlineMs: 2 * REPLY_DEADLINE_MS } as const;
    expectOk(body, await this.#link.ask({ ...asked, repeats: 0, withdrawn: this.#mayClose() }));
  }

  #stepText({ levels, settleUs }: TimedStep): string {
    if (!Number.isInteger(settleUs) || settleUs < 0 || settleUs > SETTLE_US_MAX) {
      throw new RangeError(`A settle is 0 to ${SETTLE_US_MAX} us; got ${settleUs}.`);
    }
    const { mask, states } = this.#masks(levels);
    return `${mask},${states},${settleUs}`;
  }

  #masks(levels: Levels): { mask: number; states: number } {
    let mask = 0;
    let states = 0;
    for (const [name, level] of Object.entries(levels)) {
      const { output, releasedLevel } = this.#line(name);
      mask |= 1 << (output - 1);
      if (level !== releasedLevel) states |= 1 << (output - 1);
    }
    return { mask, states };
  }

  #line(name: string) {
    const line = this.#wiring.lines.get(name);
    if (line === undefined) throw new BenchError("unknown-name", { kind: "line", name });
    return line;
  }

  #list(channels: readonly string[]): string {
    return `(@${channels.map((name) => this.#channel(name)).join(",")})`;
  }

  #channel(name: string): number {
    const number = this.#wiring.channels.get(name);
    if (number === undefined) throw new BenchError("unknown-name", { kind: "channel", name });
    return number;
  }
}
