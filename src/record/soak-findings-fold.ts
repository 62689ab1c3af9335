/**
 * What a soak's journal allows to be claimed, and where its errors crowd together: a fold of entries that
 * keeps one stretch for each full set of readings, however many cycles lie between.
 */
import type { EndCause, JournalEntry } from "../events/events.ts";
import type { Plan } from "../events/plan.ts";
import type { SoakOrder } from "../events/soak.ts";
import { separateErrors } from "../journal/separate-errors.ts";
import type { SoakSnapshot } from "../journal/soak-snapshot.ts";
import type { ErrorClusters, ErrorMoment, SoakGround } from "../verdict/error-clusters.ts";
import { findClusters } from "../verdict/error-clusters.ts";
import type { SoakClaim, SoakCounted } from "../verdict/soak-claim.ts";
import { claimOf } from "../verdict/soak-claim.ts";

const HOUR_MS = 3_600_000;
/** Errors looked at for what they have in common; more of them would tell nothing new. */
const ERRORS_MAX = 5_000;

interface SoakFindings {
  /** Null before the first cycle is sealed. */
  readonly claim: SoakClaim | null;
  readonly clusters: ErrorClusters;
}

/** Lowest and highest seen. */
type Extent = readonly [low: number, high: number];

export class SoakFindingsFold {
  readonly #rails: Plan["rails"];
  readonly #order: SoakOrder;
  readonly #steps: SoakGround["steps"];
  readonly #stretches: SoakGround["stretches"][number][] = [];
  readonly #errors: ErrorMoment[] = [];
  readonly #railVolts = new Map<string, Extent>();
  #celsius: number | null = null;
  #warmth: Extent | null = null;
  /** Cycles that are told of, and of these in stretches. */
  #cycles = 0;
  #cyclesGathered = 0;
  #repeats = 0;
  #plateOnMs = 0;
  #stretchMs = 0;

  constructor({ rails }: Pick<Plan, "rails">, order: SoakOrder) {
    this.#rails = rails;
    this.#order = order;
    const names = stepNames(order);
    const moved = movesOf(order);
    this.#steps = order.cycle.map(({ expect }, at) => ({
      step: names[at] ?? "",
      readings: Object.keys(expect).length,
      moved: moved[at] ?? [],
    }));
  }

  take({ ms, event }: JournalEntry): void {
    switch (event.kind) {
      case "rail-switched":
        if (event.rail === "plate" && event.on) this.#plateOnMs = ms;
        break;
      case "leg-begun":
        this.#stretchMs = ms;
        break;
      case "leg-ended":
        this.#gather(ms);
        break;
      case "soak-tally":
        this.#cycles = event.counts.cycles;
        this.#repeats = event.counts.repeats;
        break;
      case "soak-readings":
        this.#celsius = event.celsius;
        if (event.celsius !== null) this.#warmth = within(this.#warmth, event.celsius);
        // No cycle that is claimed anything of ran while the heaters stood low.
        if (event.moment !== "heater low") {
          for (const { channel, volts } of event.rails) this.#seeRail(channel, volts);
        }
        this.#gather(ms);
        break;
      case "cycle-error":
        if (this.#errors.length < ERRORS_MAX) {
          const step = this.#steps[event.step];
          this.#errors.push({
            cycle: event.cycle,
            step: step?.step ?? "",
            onMs: event.onMs,
            hour: ms / HOUR_MS,
            celsius: event.celsius,
            moved: step?.moved ?? [],
            repeats: event.repeats,
          });
        }
        break;
    }
  }

  /** @param soak the same journal's fold */
  findings(
    soak: SoakSnapshot,
    { unit, cause }: { readonly unit: string | null; readonly cause: EndCause | null },
  ): SoakFindings {
    const conditions = {
      unit,
      steps: this.#order.cycle.length,
      powerCycles: soak.counts.powerCycles,
      celsius: this.#warmth,
      rails: this.#rails.flatMap(({ rail, boardChannel }) => {
        const seen = this.#railVolts.get(boardChannel);
        return seen === undefined ? [] : [{ rail, lowV: seen[0], highV: seen[1] }];
      }),
      gaps: soak.legs.filter(({ why }) => why !== "first" && why !== "power cycle").length,
    };
    return {
      claim: claimOf(countedOf(soak, cause), conditions),
      clusters: findClusters(this.#errors, {
        stretches: this.#stretches,
        steps: this.#steps,
        repeats: this.#repeats,
      }),
    };
  }

  /** What was cycled since the last full set, at the middle of that time. */
  #gather(ms: number): void {
    const cycles = this.#cycles - this.#cyclesGathered;
    if (cycles > 0) {
      const middleMs = (this.#stretchMs + ms) / 2;
      this.#stretches.push({
        cycles,
        onMs: Math.max(0, middleMs - this.#plateOnMs),
        hour: middleMs / HOUR_MS,
        celsius: this.#celsius,
      });
      this.#cyclesGathered = this.#cycles;
    }
    this.#stretchMs = ms;
  }

  #seeRail(channel: string, volts: number | null): void {
    if (volts === null) return;
    this.#railVolts.set(channel, within(this.#railVolts.get(channel) ?? null, volts));
  }
}

function countedOf(soak: SoakSnapshot, cause: EndCause | null): SoakCounted {
  const { counts } = soak;
  const byErrors = cause === "first fail" || cause === "steady error";
  const stop = cause === "completed" ? "planned end" : "cut short";
  return {
    cycles: counts.cycles,
    errors: separateErrors(soak),
    unjudged: counts.unjudged,
    hours: counts.cyclingMs / HOUR_MS,
    stop: byErrors ? "errors" : stop,
  };
}

function within(extent: Extent | null, value: number): Extent {
  return extent === null
    ? [value, value]
    : [Math.min(extent[0], value), Math.max(extent[1], value)];
}

/** As a person knows them; numbered where two bear one name. */
function stepNames({ cycle }: SoakOrder): string[] {
  return cycle.map(({ name }, at) => {
    const alike = cycle.filter((one) => one.name === name).length > 1;
    return alike ? `${name} (${at + 1})` : name;
  });
}

/** Lines that change their level for each step, once the cycle goes round. */
function movesOf({ cycle }: SoakOrder): string[][] {
  const levels = new Map<string, string>();
  const around = () =>
    cycle.map(({ set }) =>
      Object.entries(set).flatMap(([line, level]) => {
        const isMoved = levels.get(line) !== level;
        levels.set(line, level);
        return isMoved ? [line] : [];
      }),
    );
  around();
  return around();
}
