/** The journal of a sealed set against the record that was made from it. */
import { JournalReadError } from "../../journal/journal-fault.ts";
import { type JournalEnd, JournalScanner } from "../../journal/scan-journal.ts";
import type { AcceptanceRecord } from "../acceptance-record.ts";
import { type PageFacts, PageFold } from "../page/page-facts.ts";
import { RecordFold } from "../record-fold.ts";
import { type Finding, finding } from "./finding.ts";
import { JOURNAL, type SetFiles } from "./set-files.ts";

export interface CheckedJournal {
  readonly findings: readonly Finding[];
  /** What today's program draws from it; null when it does not read whole, or nobody asked. */
  readonly drawn: { readonly draft: AcceptanceRecord; readonly facts: PageFacts } | null;
}

/**
 * Every line's own check and link, then its length and end against what was sealed.
 *
 * @param sealed  of the record; null when the record cannot say
 * @param folding draw record and page too, which takes its time
 */
export function checkJournal(
  files: SetFiles,
  sealed: AcceptanceRecord["journal"] | null,
  folding: boolean,
): CheckedJournal {
  const fold = folding ? { record: new RecordFold(), page: new PageFold() } : null;
  let hashAtSealedEnd: string | null = null;
  const scanner = new JournalScanner((entry) => {
    fold?.record.take(entry);
    fold?.page.take(entry);
    // The link of the line after it is the hash of the last sealed one.
    if (sealed !== null && entry.n === sealed.lines) hashAtSealedEnd = entry.before;
  });
  try {
    for (const piece of files.pieces(JOURNAL)) scanner.take(piece);
    const end = scanner.end();
    const findings = sealed === null ? [] : againstSealed(end, sealed, hashAtSealedEnd);
    if (fold === null) return { findings, drawn: null };
    const draft = fold.record.record(end.torn?.line ?? null);
    return { findings, drawn: { draft, facts: fold.page.facts(fold.record.run) } };
  } catch (error) {
    if (!(error instanceof JournalReadError)) throw error;
    const { line, code, message } = error;
    const kind = code === "JOURNAL_CHAIN_BROKEN" ? "journal" : "changed";
    return { findings: [finding(kind, JOURNAL, `${JOURNAL}: ${message}`, { line })], drawn: null };
  }
}

function againstSealed(
  { lines, lastHash, torn }: JournalEnd,
  sealed: AcceptanceRecord["journal"],
  hashAtSealedEnd: string | null,
): Finding[] {
  if (lines === sealed.lines && lastHash === sealed.lastHash && torn === null) return [];
  const say = (text: string, line: number | null): Finding[] => [
    finding("journal", JOURNAL, `${JOURNAL} ${text}`, { line }),
  ];
  if (lines < sealed.lines) {
    const at = torn === null ? "" : `, and ${torn.bytes} bytes of line ${torn.line}`;
    return say(
      `is cut: ${sealed.lines} lines were sealed, ${lines} are there${at}. From line ${lines + 1} on it is lost.`,
      lines + 1,
    );
  }
  const begun = lines === sealed.lines ? lastHash : hashAtSealedEnd;
  if (begun !== sealed.lastHash) {
    return say("is whole in itself and not the one that was sealed: it was written anew.", null);
  }
  return say(
    `has more than the ${sealed.lines} lines that were sealed: from line ${sealed.lines + 1} on they were put in later.`,
    sealed.lines + 1,
  );
}
