/**
 * A full set of readings with the heaters at less than their volts: a cathode that has little left shows it there
 * first. Supervision goes on throughout, with the rail's window moved as far as the rail; ceilings and the
 * controller's trips stay. What cannot be lowered, or does not follow, is said and left out: never taken for done.
 */
import type { SettableSupply } from "../bench/settable-supply.ts";
import type { HeaterLowOrder, PlannedRail } from "../events/plan.ts";
import { voltsText, windowText } from "../measure/volts-text.ts";
import { within } from "./deadline.ts";
import { RunFault } from "./ending.ts";
import { understandScan } from "./look.ts";
import { movedWindow, type RailWindow, spanOf } from "./rail-book.ts";
import type { RunParts } from "./run-parts.ts";
import type { Scribe } from "./scribe.ts";
import { benchDeadlineMs, gatePollMs, heartbeatDeadlineMs } from "./timing.ts";

/** Longest a supply may take to get where it was told to. */
const FOLLOW_MS_MAX = 10_000;

type Stage = "falling" | "cooling" | "rising" | "warming" | "over";

export interface HeaterLowGiven {
  readonly order: HeaterLowOrder;
  readonly parts: RunParts;
  readonly supply: SettableSupply;
  /** Takes the set, as the soak takes any. */
  readonly takeSet: (signal: AbortSignal) => Promise<void>;
}

/** One such reading, from nominal volts back to nominal volts. */
export class HeaterLow {
  readonly #given: HeaterLowGiven;
  readonly #rail: PlannedRail | undefined;
  #stage: Stage = "falling";
  #untilMs: number | null = null;

  constructor(given: HeaterLowGiven) {
    this.#given = given;
    this.#rail = given.parts.plan.rails.find(({ rail }) => rail === "heater");
  }

  /**
   * One piece of it, ending at `untilMs` or soon after.
   *
   * @returns whether it is over
   * @throws the signal's reason; RunFault or BenchError from taking the set or looking at the rail
   */
  async turn(untilMs: number, signal: AbortSignal): Promise<boolean> {
    const { supply, takeSet } = this.#given;
    const rail = this.#rail;
    if (rail === undefined) {
      throw new RunFault("plan-inconsistent", "The plan has no heater rail.");
    }
    switch (this.#stage) {
      case "falling":
        await this.#lower(supply, rail, signal);
        break;
      case "cooling":
        if (!(await this.#rest(untilMs, signal))) break;
        await takeSet(signal);
        this.#stage = "rising";
        break;
      case "rising":
        await this.#raise(supply, rail, signal);
        break;
      case "warming":
        if (await this.#rest(untilMs, signal)) this.#stage = "over";
        break;
      case "over":
        break;
    }
    return this.#stage === "over";
  }

  async #lower(supply: SettableSupply, rail: PlannedRail, signal: AbortSignal): Promise<void> {
    const { order, parts } = this.#given;
    const share = 1 - order.percent / 100;
    const low = movedWindow(rail, share);
    this.#watch(rail, share, spanOf(low, rail.window));
    const refusal = await this.#tell(supply, share);
    if (refusal === null && (await this.#follows(rail, low, signal))) {
      this.#watch(rail, share, low);
      this.#restFor(order.settleMs);
      this.#stage = "cooling";
      return;
    }
    const boardV = parts.rails.lastV(rail.rail);
    const read = boardV === null ? "no reading" : voltsText(boardV);
    const why = refusal ?? `${rail.boardChannel} reads ${read}, expected ${windowText(low)}`;
    notMade(order, why, parts.scribe);
    this.#stage = "rising";
  }

  /** A supply that does not come back is a rail outside its window, and ends the run as such. */
  async #raise(supply: SettableSupply, rail: PlannedRail, signal: AbortSignal): Promise<void> {
    const { order, parts } = this.#given;
    const share = 1 - order.percent / 100;
    this.#watch(rail, share, spanOf(movedWindow(rail, share), rail.window));
    const refusal = await this.#tell(supply, 1);
    if (refusal !== null) parts.scribe.write({ kind: "remark", text: refusal });
    await this.#follows(rail, rail.window, signal);
    this.#watch(rail, 1, rail.window);
    this.#restFor(order.settleMs);
    this.#stage = "warming";
  }

  /** @returns why it was not done, or null */
  async #tell(supply: SettableSupply, share: number): Promise<string | null> {
    const { clock } = this.#given.parts;
    const what = `the ${supply.rail} supply to take ${Math.round(100 * share)} % of its volts`;
    try {
      await within({ clock, limitMs: benchDeadlineMs, what }, supply.setShare(share));
      return null;
    } catch (error) {
      return `the ${supply.rail} supply did not take ${Math.round(100 * share)} % of its volts: ${String(error)}`;
    }
  }

  /** Said before the rail moves, so that who reads the journal knows which window holds. */
  #watch(rail: PlannedRail, share: number, window: RailWindow): void {
    const { rails, scribe } = this.#given.parts;
    rails.moveWindow(rail.rail, window);
    scribe.write({ kind: "window-moved", rail: rail.rail, share, window });
  }

  /** Whether source and board side come into a window in time. */
  async #follows(rail: PlannedRail, window: RailWindow, signal: AbortSignal): Promise<boolean> {
    const { bench, clock } = this.#given.parts;
    const endMs = clock.nowMs() + FOLLOW_MS_MAX;
    while (clock.nowMs() < endMs) {
      const deadline = { clock, limitMs: heartbeatDeadlineMs, what: "a rail scan" };
      const looks = understandScan(await within(deadline, bench.scanRails()), this.#given.parts);
      const look = looks.find((one) => one.rail.rail === rail.rail);
      const readings = look === undefined ? [] : [look.source, look.board];
      const isIn = readings.every(
        ({ volts }) => volts !== null && volts >= window.lowV && volts <= window.highV,
      );
      if (isIn && readings.length > 0) return true;
      await clock.delay(gatePollMs, signal);
    }
    return false;
  }

  #restFor(ms: number): void {
    this.#untilMs = this.#given.parts.clock.nowMs() + ms;
  }

  /** @returns whether the rest is over */
  async #rest(untilMs: number, signal: AbortSignal): Promise<boolean> {
    const { clock } = this.#given.parts;
    const endMs = this.#untilMs ?? clock.nowMs();
    const nowMs = clock.nowMs();
    if (nowMs < endMs) await clock.delay(Math.min(endMs, untilMs) - nowMs, signal);
    return clock.nowMs() >= endMs;
  }
}

/** Say that such readings are missing; the soak goes on without them. */
export function notMade({ percent }: HeaterLowOrder, why: string, scribe: Scribe): void {
  const text = `readings with the heaters ${percent} % low were not made: ${why}`;
  scribe.write({ kind: "remark", text });
}
