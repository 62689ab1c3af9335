/** Bars of time: the whole run, and the hold that is running. */
import type { HoldSnapshot, RunSnapshot } from "../journal/snapshot.ts";
import { clockText, durationText, secondsText } from "./duration-text.ts";
import type { PanelOptions } from "./panel.ts";
import { cutLine, span, type TextLine } from "./text-line.ts";
import { wallClockAt } from "./wall-text.ts";

const BAR_COLUMNS_MAX = 60;
const BAR_COLUMNS_MIN = 10;
/** The words beside the bar, at their longest. */
const WORDS_COLUMNS = 44;

/** Fraction of the estimated time that is gone, 0 to 1; null while it is not known. */
function progressFraction(snapshot: RunSnapshot): number | null {
  if (snapshot.leftMs === null) return null;
  const whole = snapshot.ms + snapshot.leftMs;
  return whole <= 0 ? null : Math.min(1, Math.max(0, snapshot.ms / whole));
}

export function progressPanel(snapshot: RunSnapshot, options: PanelOptions): TextLine[] {
  const { hand, freeze, standby } = snapshot;
  // How long these last is the person's choice; the sentence says how long at most.
  if (hand !== null || freeze !== null || standby !== null) return [];
  const lines: TextLine[] = [runLine(snapshot, options)];
  if (snapshot.hold !== null && snapshot.phase === "holding") {
    lines.push(holdLine(snapshot.hold, options));
  }
  return lines.map((line) => cutLine(line, options.columns, options.glyphs.cut));
}

function runLine(snapshot: RunSnapshot, options: PanelOptions): TextLine {
  if (snapshot.phase === "ended") {
    return [span(`Took ${clockText(snapshot.ms)}.`)];
  }
  if (snapshot.phase === "powering down" || snapshot.stopRequested) {
    const most = snapshot.leftMs === null ? "" : `, at most ${durationText(snapshot.leftMs)} more`;
    return [span(`Time ${clockText(snapshot.ms)}${most}`)];
  }
  const fraction = progressFraction(snapshot);
  const percent = fraction === null ? "" : ` ${String(Math.floor(fraction * 100)).padStart(3)} %`;
  return [
    span("Run  "),
    ...timeBar(fraction ?? 0, options),
    span(`${percent}  ${clockText(snapshot.ms)} gone, ${leftText(snapshot)}`),
  ];
}

function holdLine(hold: HoldSnapshot, options: PanelOptions): TextLine {
  const fraction = hold.forMs <= 0 ? 0 : Math.min(1, Math.max(0, hold.elapsedMs / hold.forMs));
  const name = hold.part === "flip" ? "Flip" : "Hold";
  const counts = `${hold.readingSets} reads ok, ${hold.moves} moves`;
  return [
    span(`${name} `),
    ...timeBar(fraction, options),
    span(` ${secondsText(hold.elapsedMs)} of ${secondsText(hold.forMs)} s, ${counts}`),
  ];
}

function timeBar(fraction: number, { columns, glyphs }: PanelOptions): TextLine {
  const wide = Math.min(BAR_COLUMNS_MAX, Math.max(BAR_COLUMNS_MIN, columns - 5 - WORDS_COLUMNS));
  const done = Math.floor(fraction * wide);
  return [span(glyphs.done.repeat(done), "strong"), span(glyphs.toDo.repeat(wide - done), "faint")];
}

/** Of a soak at which hour it ends: nobody counts hours from the moment they wake. */
function leftText(snapshot: RunSnapshot): string {
  const { leftMs, ms, soak } = snapshot;
  if (leftMs === null) return "time left not known yet";
  const end = soak === undefined ? null : wallClockAt(ms + leftMs, snapshot);
  return end === null ? `about ${durationText(roundedLeftMs(leftMs))} left` : `ends about ${end}`;
}

/** Nobody needs the second of an estimate above a minute; a steady figure is easier to read. */
function roundedLeftMs(leftMs: number): number {
  return leftMs > 60_000 ? Math.ceil(leftMs / 5_000) * 5_000 : leftMs;
}
