/**
 * A soak from its first leg to its last, in one journal. Each leg is a run of its own from measured
 * supplies to proved off; between two of them everything is off. Whether another follows was fixed before
 * the first: power cycles by the sequence, going on after a mishap by a choice, and never after a trip,
 * an off that could be proved and was not, or a cause that nobody knows.
 */
import type { Bench } from "../bench/bench.ts";
import type { SettableSupply } from "../bench/settable-supply.ts";
import type { EndCause } from "../events/events.ts";
import type { RunWish, WishAnswer } from "../events/run-wish.ts";
import type { GoOnAfter, SoakEvent, SoakOrder } from "../events/soak.ts";
import { type FoldedRun, verdictAtEnd } from "../journal/account.ts";
import { foldEvent, initialSnapshot } from "../journal/fold.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import { NO_COUNTS } from "../journal/soak-snapshot.ts";
import { PLAIN_PROOF } from "./conduct.ts";
import { within } from "./deadline.ts";
import { type Ending, ending } from "./ending.ts";
import { mayGoOn } from "./going-on.ts";
import { restOnLink } from "./rest-on-link.ts";
import { RestartBook } from "./restart-book.ts";
import { Scribe } from "./scribe.ts";
import { SoakBook } from "./soak-book.ts";
import { type RunEnd, type RunHandle, type RunOptions, startRun } from "./start-run.ts";
import { benchDeadlineMs } from "./timing.ts";
import { WallWatch } from "./wall-watch.ts";

/** The controller found again, and what it says of the time in between. */
interface FoundAgain {
  readonly bench: Bench;
  /** A trip is latched in it, from whenever. */
  readonly isTripped: boolean;
}

export interface SoakOptions extends Omit<RunOptions, "conduct" | "leg" | "heatersOnMs"> {
  readonly order: SoakOrder;
  /** Reading of the clock at which the run was opened. */
  readonly openedMs: number;
  /** The run as its journal has it, when it goes on after a crash or a cut; null begins one. */
  readonly resumed: {
    readonly folded: FoldedRun;
    readonly why: GoOnAfter;
    readonly gapMs: number | null;
    readonly tornBytes: number;
  } | null;
  /**
   * Look for the same controller again, for a bounded time.
   *
   * @throws BenchError when it cannot be found; the signal's reason
   */
  readonly findAgain: ((signal: AbortSignal) => Promise<FoundAgain>) | null;
  /** Supplies that can be turned; missing where there are none. */
  readonly supplies?: readonly SettableSupply[];
}

/** Goings on of one run: what happens again and again is a fault to be looked for by daylight. */
const GOINGS_ON_MAX = 20;

export function startSoak(options: SoakOptions): RunHandle {
  return new SoakRun(options);
}

class SoakRun implements RunHandle {
  readonly done: Promise<RunEnd>;
  readonly #options: SoakOptions;
  readonly #book: SoakBook;
  readonly #between = new AbortController();
  #folded: FoldedRun;
  #leg: RunHandle | null = null;
  #stop: { readonly by: "person" | "signal"; readonly detail: string } | null = null;
  #failure: unknown = null;
  #goingsOn = 0;
  readonly #restarts = new RestartBook();
  readonly #wall: WallWatch;

  constructor(options: SoakOptions) {
    this.#options = options;
    const { resumed, journal, order, clock } = options;
    this.#wall = new WallWatch(clock);
    this.#folded = resumed?.folded ?? initialSnapshot();
    const { soak } = this.#folded;
    this.#book = new SoakBook(order, {
      counts: soak?.counts ?? NO_COUNTS,
      errors: soak?.kept ?? 0,
      sets: soak?.sets ?? 0,
      legs: soak?.legs.length ?? 0,
      hasHeaterLow: soak?.driftSets.some(({ moment }) => moment === "heater low") ?? false,
    });
    const forget = journal.subscribe((entry) => {
      this.#folded = foldEvent(this.#folded, entry);
      const { event } = entry;
      if (event.kind === "rail-switched" && event.on) this.#book.railCameOn(event.rail);
    });
    this.done = this.#live().finally(forget);
  }

  snapshot(): RunSnapshot {
    return this.#folded;
  }

  stop(by: "person" | "signal", detail: string): void {
    this.#stop ??= { by, detail };
    this.#between.abort();
    this.#leg?.stop(by, detail);
  }

  ask(wish: RunWish): WishAnswer {
    return this.#leg === null ? "Power is off between two legs." : this.#leg.ask(wish);
  }

  fail(error: unknown): void {
    this.#failure ??= error;
    this.#between.abort();
    this.#leg?.fail(error);
  }

  async #live(): Promise<RunEnd> {
    const { resumed } = this.#options;
    let { bench } = this.#options;
    // Whoever died while the heaters were low left their supply so.
    if (resumed !== null) await this.#heatersBackUp();
    let begun = this.#begun(resumed?.why ?? "first", resumed ?? { gapMs: 0, tornBytes: 0 });
    while (true) {
      const { end, next } = await this.#liveLeg(bench, begun);
      if (next === null) return end;
      const offMs = this.#options.clock.nowMs();
      const rested = await this.#rest(next, bench);
      if ("ending" in rested) return this.#close(rested.ending, end);
      bench = rested.bench;
      this.#wall.tell(this.#scribe());
      const gapMs = Math.round(this.#options.clock.nowMs() - offMs);
      begun = this.#begun(rested.why, { gapMs, tornBytes: 0 });
    }
  }

  #begun(
    why: Extract<SoakEvent, { kind: "leg-begun" }>["why"],
    gap: { readonly gapMs: number | null; readonly tornBytes: number },
  ): Extract<SoakEvent, { kind: "leg-begun" }> {
    const wall = this.#options.clock.wallTime();
    const { gapMs, tornBytes } = gap;
    return { kind: "leg-begun", leg: this.#book.beginLeg(), why, wall, gapMs, tornBytes };
  }

  async #liveLeg(
    bench: Bench,
    begun: Extract<SoakEvent, { kind: "leg-begun" }>,
  ): Promise<{ end: RunEnd; next: "power cycle" | GoOnAfter | null }> {
    const { openedMs, rigCheck, remarks, supplies = [], ...options } = this.#options;
    const before = this.#folded.opened === null ? null : this.#folded;
    this.#restarts.hear(bench);
    let next: "power cycle" | GoOnAfter | null = null;
    const leg = startRun({
      ...options,
      ...(rigCheck === undefined ? {} : { rigCheck }),
      ...(before === null && remarks !== undefined ? { remarks } : {}),
      bench,
      conduct: { ...PLAIN_PROOF, mode: "soak", soak: this.#book, wall: this.#wall, supplies },
      leg: {
        begun,
        before,
        openedMs,
        goesOn: (why, allProvedOff) => {
          next = this.#next(why, allProvedOff);
          return next !== null;
        },
      },
    });
    this.#leg = leg;
    if (this.#stop !== null) leg.stop(this.#stop.by, this.#stop.detail);
    const end = await leg.done;
    this.#leg = null;
    // A leg that ended while its heaters were low leaves its supply so: everything is off by now.
    await this.#heatersBackUp();
    return { end, next: end.goesOn === true ? next : null };
  }

  async #heatersBackUp(): Promise<void> {
    const { clock, order, supplies = [] } = this.#options;
    const supply = supplies.find(({ rail }) => rail === "heater");
    if (order.heaterLow === undefined || supply === undefined) return;
    const what = "the heater supply to go back to its volts";
    try {
      await within({ clock, limitMs: benchDeadlineMs, what }, supply.setShare(1));
    } catch (error) {
      const text = `the heater supply did not go back to its volts: ${String(error)}`;
      this.#scribe().write({ kind: "remark", text });
    }
  }

  /** What the next leg would begin after; null when this one was the last. */
  #next(why: Ending, allProvedOff: boolean): "power cycle" | GoOnAfter | null {
    if (this.#stop !== null || this.#failure !== null || this.#book.isComplete) return null;
    if (why.cause === "completed") return allProvedOff ? "power cycle" : null;
    if (this.#options.findAgain === null || this.#goingsOn >= GOINGS_ON_MAX) return null;
    return mayGoOn(why.cause, this.#options.order.goOn);
  }

  /** Wait out what lies between two legs, with everything off. */
  async #rest(
    next: "power cycle" | GoOnAfter,
    bench: Bench,
  ): Promise<{ bench: Bench; why: "power cycle" | GoOnAfter } | { ending: Ending }> {
    const { clock, findAgain, order, plan } = this.#options;
    const { signal } = this.#between;
    const scribe = this.#scribe();
    scribe.phase("power off");
    let why = next;
    try {
      if (why === "power cycle") {
        const forMs = order.power?.offMs ?? 0;
        const heard = await restOnLink({ bench, clock, forMs, plan, scribe, signal });
        if (heard === null) return { bench, why };
        const after = this.#goingsOn < GOINGS_ON_MAX ? mayGoOn(heard.cause, order.goOn) : null;
        if (after === null || findAgain === null) return { ending: heard };
        why = after;
      }
      this.#goingsOn += 1;
      if (findAgain === null) return { ending: ending("link lost", "nothing looks for it again") };
      await bench.close().catch((error: unknown) => {
        scribe.write({ kind: "remark", text: `closing the lost port failed: ${String(error)}` });
      });
      return this.#checked(await findAgain(signal), why);
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      return {
        ending: signal.aborted
          ? this.#stopEnding(scribe)
          : ending("link lost", `the controller was not found again: ${why}`),
      };
    }
  }

  #checked(
    { bench, isTripped }: FoundAgain,
    why: GoOnAfter,
  ): { bench: Bench; why: GoOnAfter } | { ending: Ending } {
    const against = isTripped
      ? ending("trip", "a trip is latched in the controller: nothing goes on by itself after one")
      : this.#restarts.against(why, bench.identity, this.#folded.controller);
    return against === null ? { bench, why } : { ending: against };
  }

  #stopEnding(scribe: Scribe): Ending {
    if (this.#stop === null) {
      return ending("internal fault", String(this.#failure), {
        code: "unexpected-error",
        net: null,
      });
    }
    const { by, detail } = this.#stop;
    scribe.write({ kind: "stop-requested", by, detail });
    return ending(by === "person" ? "stopped by the person" : "signal", detail);
  }

  /** Close a run that ended between two legs, with everything off as its last leg left it. */
  #close({ cause, detail }: Ending, last: RunEnd): RunEnd {
    const scribe = this.#scribe();
    const { clock } = this.#options;
    scribe.phase("ended");
    const verdictOf = (why: EndCause) => verdictAtEnd(this.#folded, why);
    const verdict = verdictOf(cause);
    scribe.write({ kind: "run-closed", cause, detail, verdict, wall: clock.wallTime() });
    const { fault } = scribe;
    const { allProvedOff, falls } = last;
    const end = { allProvedOff, falls, heatersKeptOnMs: null };
    return fault === null
      ? { ...end, cause, detail, verdict }
      : {
          ...end,
          cause: "journal fault",
          detail: String(fault),
          verdict: verdictOf("journal fault"),
        };
  }

  #scribe(): Scribe {
    return new Scribe(this.#options.journal, () => this.#between.abort());
  }
}
