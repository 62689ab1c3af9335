/** What a soak allows to be claimed and what its errors have in common, told from its journal as text. */
import type { JournalEntry } from "../events/events.ts";
import { foldEvent, initialSnapshot } from "../journal/fold.ts";
import { wrapWords } from "../screen/text-line.ts";
import { clusterWords } from "../verdict/cluster-words.ts";
import { claimWords } from "../verdict/soak-claim-words.ts";
import { RECORD_COLUMNS } from "./record-lines.ts";
import { SoakFindingsFold } from "./soak-findings-fold.ts";

export class SoakLines {
  #run = initialSnapshot();
  #findings: SoakFindingsFold | null = null;

  take(entry: JournalEntry): void {
    const { event } = entry;
    this.#run = foldEvent(this.#run, entry);
    if (event.kind === "run-opened" && event.soak !== undefined) {
      this.#findings = new SoakFindingsFold(event.plan, event.soak);
    }
    this.#findings?.take(entry);
  }

  /** Nothing for another kind of run. */
  lines(): string[] {
    const { soak, opened, cause } = this.#run;
    if (soak === undefined || this.#findings === null) return [];
    const { claim, clusters } = this.#findings.findings(soak, {
      unit: opened?.unit ?? null,
      cause,
    });
    const claims =
      claim === null ? ["Nothing: no cycle was judged and sealed."] : claimWords(claim);
    return [
      ...section("What this soak allows to be claimed", claims),
      ...section("What its wrong cycles have in common", clusterWords(clusters)),
    ];
  }
}

function section(title: string, sentences: readonly string[]): string[] {
  if (sentences.length === 0) return [];
  const rows = sentences.flatMap((sentence) =>
    wrapWords(sentence, RECORD_COLUMNS - 4).map((row, at) => `${at === 0 ? "  " : "    "}${row}`),
  );
  return ["", title, ...rows];
}
