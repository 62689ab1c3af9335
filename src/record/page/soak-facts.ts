/** A soak as a page shows it: how levels drifted, when cycles went wrong, and the first of them whole. */
import type { JournalEntry, JudgedReading } from "../../events/events.ts";
import type { LevelClass } from "../../events/levels.ts";
import type { Plan } from "../../events/plan.ts";
import type { CycleVolts, SoakCounts, SoakEvent, SoakOrder } from "../../events/soak.ts";
import type { FoldedRun } from "../../journal/account.ts";
import type { ErrorKind } from "../../journal/soak-snapshot.ts";
import { clusterWords } from "../../verdict/cluster-words.ts";
import { linkCoincidence } from "../../verdict/link-coincidence.ts";
import { linkWords } from "../../verdict/link-words.ts";
import { claimWords } from "../../verdict/soak-claim-words.ts";
import { linkUseOf } from "../link-use.ts";
import { SoakFindingsFold } from "../soak-findings-fold.ts";
import { MinMaxSeries } from "./min-max-series.ts";

/** Wrong cycles drawn with their surroundings: the first of each kind, and the first of all. */
const ERRORS_DRAWN_MAX = 12;
/** Kinds of which the first is kept even when many others came before it. */
const KINDS_KEPT_MAX = 36;
/** Nets and classes that have a drift chart. */
const DRIFTS_MAX = 48;
/** Bars of errors over time; twice as wide when they do not reach. */
const BARS_MAX = 96;
const BAR_MS = 60_000;

export interface DriftCurve {
  readonly net: string;
  readonly expected: LevelClass;
  readonly series: MinMaxSeries;
  /** Largest expanded uncertainty; null where it is not evaluated. */
  readonly expandedV: number | null;
}

/** A wrong cycle with those around it. */
export interface DrawnError {
  readonly error: number;
  readonly cycle: number;
  readonly ms: number;
  readonly wall: string;
  readonly step: number;
  readonly onMs: number;
  /** Its first reading that was not as expected. */
  readonly off: JudgedReading;
  /** How many more of that step were off. */
  readonly others: number;
  /** Of its step, in the order of the volts kept. */
  readonly nets: readonly string[];
  readonly stepName: string;
  readonly own: CycleVolts;
  readonly before: readonly CycleVolts[];
  readonly after: readonly CycleVolts[];
  readonly repeats: number;
  readonly moved: readonly string[];
}

export interface SoakFacts {
  readonly order: SoakOrder;
  readonly counts: SoakCounts | null;
  /** All wrong cycles by step and net. */
  readonly kinds: readonly ErrorKind[];
  /** What may be claimed, and what wrong cycles have in common, in sentences. */
  readonly claims: readonly string[];
  readonly clusters: readonly string[];
  /** Of the link to the controller. */
  readonly link: readonly string[];
  readonly drifts: readonly DriftCurve[];
  readonly driftsLeftOut: number;
  readonly celsius: MinMaxSeries;
  readonly errors: readonly DrawnError[];
  readonly errorsLeftOut: number;
  /** Wrong cycles kept whole, in bars of this width from the beginning of the run. */
  readonly bars: readonly number[];
  readonly barMs: number;
}

type MutableDrift = { -readonly [K in keyof DriftCurve]: DriftCurve[K] };
type MutableError = { -readonly [K in keyof DrawnError]: DrawnError[K] };

export class SoakFold {
  readonly #order: SoakOrder;
  readonly #findings: SoakFindingsFold;
  readonly #nets: ReadonlySet<string>;
  readonly #drifts = new Map<string, MutableDrift>();
  readonly #driftsLeftOut = new Set<string>();
  readonly #celsius = new MinMaxSeries();
  readonly #errors: MutableError[] = [];
  readonly #kinds = new Set<string>();
  #errorCount = 0;
  #bars: number[] = [];
  #barMs = BAR_MS;
  #counts: SoakCounts | null = null;

  constructor(plan: Plan, order: SoakOrder) {
    this.#order = order;
    this.#findings = new SoakFindingsFold(plan, order);
    this.#nets = new Set(
      plan.channels.flatMap(({ name, reads }) => (reads.kind === "net" ? [name] : [])),
    );
  }

  take(entry: JournalEntry): void {
    const { ms, event } = entry;
    this.#findings.take(entry);
    switch (event.kind) {
      case "soak-tally":
        this.#counts = event.counts;
        break;
      case "soak-readings":
        this.#takeSet(ms, event);
        break;
      case "cycle-error":
        this.#takeError(ms, event);
        break;
      case "cycle-error-after": {
        const known = this.#errors.find(({ error }) => error === event.error);
        if (known !== undefined) known.after = event.after;
        break;
      }
    }
  }

  /** @param run the fold of the same entries */
  facts(run: FoldedRun): SoakFacts {
    return {
      order: this.#order,
      counts: this.#counts,
      ...this.#found(run),
      drifts: [...this.#drifts.values()],
      driftsLeftOut: this.#driftsLeftOut.size,
      celsius: this.#celsius,
      errors: this.#errors,
      errorsLeftOut: this.#errorCount - this.#errors.length,
      bars: this.#bars,
      barMs: this.#barMs,
    };
  }

  #found({
    soak,
    opened,
    cause,
  }: FoldedRun): Pick<SoakFacts, "kinds" | "claims" | "clusters" | "link"> {
    if (soak === undefined) return { kinds: [], claims: [], clusters: [], link: [] };
    const unit = opened?.unit ?? null;
    const { claim, clusters } = this.#findings.findings(soak, { unit, cause });
    return {
      kinds: soak.kinds,
      claims: claim === null ? [] : claimWords(claim),
      clusters: clusterWords(clusters),
      link: linkWords(linkCoincidence(linkUseOf(soak))),
    };
  }

  #takeSet(ms: number, event: Extract<SoakEvent, { kind: "soak-readings" }>): void {
    if (event.celsius !== null) this.#celsius.take(ms, event.celsius);
    // First-on and lowered heaters are levels of another condition: a drift chart keeps to one.
    if (event.moment === "first on" || event.moment === "heater low") return;
    for (const { readings } of event.steps) {
      for (const reading of readings) this.#takeDrift(ms, reading);
    }
  }

  #takeDrift(ms: number, { channel, expected, volts, expandedV }: JudgedReading): void {
    if (volts === null || !this.#nets.has(channel)) return;
    const key = `${channel} ${expected}`;
    let drift = this.#drifts.get(key);
    if (drift === undefined) {
      if (this.#drifts.size >= DRIFTS_MAX) {
        this.#driftsLeftOut.add(key);
        return;
      }
      drift = { net: channel, expected, series: new MinMaxSeries(), expandedV: null };
      this.#drifts.set(key, drift);
    }
    drift.series.take(ms, volts);
    if (expandedV !== undefined) drift.expandedV = Math.max(drift.expandedV ?? 0, expandedV);
  }

  #takeError(ms: number, event: Extract<SoakEvent, { kind: "cycle-error" }>): void {
    this.#errorCount += 1;
    this.#bar(ms);
    const { error, cycle, wall, step, onMs, readings, own, before, repeats, moved } = event;
    const [off, ...rest] = readings;
    if (off === undefined) return;
    const kind = `${step} ${off.channel}`;
    const isFirst = !this.#kinds.has(kind) && this.#kinds.size < KINDS_KEPT_MAX;
    if (isFirst) this.#kinds.add(kind);
    if (this.#errors.length >= ERRORS_DRAWN_MAX && !isFirst) return;
    const others = rest.filter(({ result }) => result === "fail" || result === "void").length;
    const planned = this.#order.cycle[step];
    const nets = Object.keys(planned?.expect ?? {});
    const stepName = planned?.name ?? `step ${step + 1}`;
    const surroundings = { nets, stepName, own, before, after: [], repeats, moved };
    this.#errors.push({ error, cycle, ms, wall, step, onMs, off, others, ...surroundings });
  }

  #bar(ms: number): void {
    while (Math.floor(ms / this.#barMs) >= BARS_MAX) {
      const bars = this.#bars;
      this.#bars = bars.flatMap((count, index) =>
        index % 2 === 0 ? [(count ?? 0) + (bars[index + 1] ?? 0)] : [],
      );
      this.#barMs *= 2;
    }
    const index = Math.floor(ms / this.#barMs);
    while (this.#bars.length <= index) this.#bars.push(0);
    this.#bars[index] = (this.#bars[index] ?? 0) + 1;
  }
}
