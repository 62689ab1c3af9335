/** What the run is doing, or how it ended: the lines a person reads first. */
import type { RunSnapshot } from "../journal/snapshot.ts";
import { doingSentence, listText } from "./doing-sentence.ts";
import type { PanelOptions } from "./panel.ts";
import { type Silence, silenceSentence } from "./silence.ts";
import { driftSentence } from "./soak-words.ts";
import { cleanText, span, type TextLine, type Tone, wrapText } from "./text-line.ts";
import { missSentence, verdictSentence, verdictTone } from "./verdict-sentence.ts";

/** No sentence may push the rails off a small screen; beside the tall word there is less width. */
const SENTENCE_ROWS_MAX = 2;
const NARROW_SENTENCE_ROWS_MAX = 3;
const NARROW_COLUMNS = 50;

export interface StateOptions extends PanelOptions {
  /** A viewer hears nothing of the run any more; null while it does. */
  readonly silence: Silence | null;
}

export function statePanel(snapshot: RunSnapshot, options: StateOptions): TextLine[] {
  const verdict = verdictSentence(snapshot);
  const miss = missSentence(snapshot);
  const drift = driftSentence(snapshot);
  const live = liveSentence(snapshot);
  const rows: TextLine[] = [];
  if (options.silence !== null) {
    rows.push(...sentenceRows(silenceSentence(options.silence), "warning", options));
  }
  if (verdict === null || snapshot.verdict === null) {
    const last = options.silence === null ? "" : "Last heard of: ";
    rows.push(...sentenceRows(last + doingSentence(snapshot), "strong", options));
  } else {
    rows.push(...sentenceRows(verdict, verdictTone(snapshot.verdict), options));
  }
  if (miss !== null) rows.push(...sentenceRows(miss, "bad", options));
  if (drift !== null) rows.push(...sentenceRows(drift, "warning", options));
  if (live !== null) rows.push(...sentenceRows(live, "bad", options));
  return rows;
}

/** A rail that may still carry volts is said in words of its own; null when all is proved. */
export function liveSentence(snapshot: RunSnapshot): string | null {
  const live = snapshot.rails
    .filter((one) => !one.on && (one.fall === "unproved" || one.fall === "lead lost"))
    .map((one) => one.rail);
  return dangerSentence(live);
}

/** Null for no rail. */
export function dangerSentence(live: readonly string[]): string | null {
  if (live.length === 0) return null;
  const are = live.length === 1 ? "is" : "are";
  return `DANGER: ${listText(live)} ${are} not proved off. Treat as live until measured by hand.`;
}

function sentenceRows(text: string, tone: Tone, options: PanelOptions): TextLine[] {
  return wrapText(cleanText(text, options.ascii), {
    columns: options.columns,
    rowCountMax: options.columns < NARROW_COLUMNS ? NARROW_SENTENCE_ROWS_MAX : SENTENCE_ROWS_MAX,
    cut: options.glyphs.cut,
  }).map((row) => [span(row, tone)]);
}
