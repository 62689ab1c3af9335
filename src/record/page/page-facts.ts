/** What a page shows and a record does not keep: curves, spans and marks, gathered entry by entry. */
import type { JournalEntry } from "../../events/events.ts";
import type { Plan } from "../../events/plan.ts";
import type { FoldedRun } from "../../journal/account.ts";
import { LevelFold, type LevelSpan } from "./level-facts.ts";
import { type PowerFacts, PowerFold } from "./power-facts.ts";
import { type SoakFacts, SoakFold } from "./soak-facts.ts";
import { type WarmFacts, WarmFold } from "./warm-facts.ts";

export interface PageFacts {
  readonly plan: Plan;
  readonly power: PowerFacts;
  readonly levels: readonly LevelSpan[];
  readonly warm: WarmFacts;
  /** Null in a run that is no soak. */
  readonly soak: SoakFacts | null;
}

interface Folds {
  readonly plan: Plan;
  readonly power: PowerFold;
  readonly levels: LevelFold;
  readonly warm: WarmFold;
  readonly soak: SoakFold | null;
}

export class PageFold {
  #folds: Folds | null = null;

  take(entry: JournalEntry): void {
    const { event } = entry;
    if (event.kind === "run-opened") {
      const { plan, soak } = event;
      this.#folds = {
        plan,
        power: new PowerFold(plan),
        levels: new LevelFold(plan),
        warm: new WarmFold(plan),
        soak: soak === undefined ? null : new SoakFold(plan, soak),
      };
    }
    this.#folds?.power.take(entry);
    this.#folds?.levels.take(event);
    this.#folds?.warm.take(entry);
    this.#folds?.soak?.take(entry);
  }

  /**
   * @param run the fold of the same entries
   * @throws RangeError when no entry has opened a run
   */
  facts(run: FoldedRun): PageFacts {
    if (this.#folds === null) {
      throw new RangeError("Expected entries that begin with the opening of a run, got none.");
    }
    const { plan, power, levels, warm, soak } = this.#folds;
    return {
      plan,
      power: power.facts(),
      levels: levels.spans(),
      warm: warm.facts(),
      soak: soak?.facts(run) ?? null,
    };
  }
}
