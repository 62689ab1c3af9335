/** Units, runs and trends as lines of text. */
import { scaleOf, type Trend } from "../../history/trend.ts";
import { limitText, voltsText } from "../../measure/volts-text.ts";
import { sparkline } from "../../screen/sparkline.ts";
import type { ListedRun, ListedUnit } from "../../store/run-index/runs-of.ts";
import { hoursText, momentText, outcomeText, roomText, soakText } from "./history-words.ts";
import { textTable } from "./text-table.ts";

/** Bars in a row: a terminal of 80 columns has room for them beside the numbers. */
const BARS_MAX = 40;

export function unitLines(units: readonly ListedUnit[]): string[] {
  const rows = units.map(({ unit, board, runs, newest, proof }) => [
    unit ?? "(no unit)",
    `${board} ${newest.revision}`,
    String(runs),
    momentText(newest.opened),
    proof === null ? "no proof" : outcomeText(proof),
    roomText(proof?.leastRoom ?? null),
  ]);
  return textTable(
    ["unit", "board", "runs", "newest", "last proof", "least room to a limit"],
    rows,
    ["left", "left", "right"],
  );
}

/** @param runs newest first */
export function runLines(unit: string, runs: readonly ListedRun[], last: number): string[] {
  const [newest] = runs;
  const oldest = runs.at(-1);
  if (newest === undefined || oldest === undefined) return [];
  const heaterMs = runs.reduce((sum, run) => sum + run.heaterMs, 0);
  const shown = runs.slice(0, last);
  const rows = shown.map((run) => [
    momentText(run.opened),
    run.mode,
    outcomeText(run),
    run.mode === "soak" ? soakText(run) : roomText(run.leastRoom),
    run.run,
  ]);
  const simulated = newest.bench === "emulated" ? " On the emulated bench: simulated." : "";
  const rest = runs.length - shown.length;
  return [
    `${unit}, ${newest.board} revision ${newest.revision}: ${runs.length === 1 ? "1 run" : `${runs.length} runs`}, ` +
      `${momentText(oldest.opened)} to ${momentText(newest.opened)}, heaters on ${hoursText(heaterMs)}.${simulated}`,
    "",
    ...textTable(["when", "kind", "verdict", "least room to a limit", "run"], rows, []),
    ...(rest > 0 ? [`and ${rest} older; --last ${runs.length} lists them all`] : []),
  ];
}

/** A bar a run, oldest left; the newest that fit. */
export function trendLines(trends: readonly Trend[], ascii: boolean): string[] {
  if (trends.length === 0) return ["No levels were judged yet."];
  const rows = trends.map((trend) => {
    const points = trend.points.slice(-BARS_MAX);
    const { lowV, highV } = scaleOf({ points });
    const bars = sparkline(
      points.map(({ worstV }) => worstV),
      { low: lowV, high: highV },
      ascii,
    );
    return [
      `${trend.channel} ${trend.expected}`,
      bars,
      voltsText(points[0]?.worstV ?? 0),
      voltsText(points.at(-1)?.worstV ?? 0),
      trend.limitV === null ? "" : `${limitText(trend.limitV)} V`,
      `${limitText(lowV)} to ${limitText(highV)} V`,
    ];
  });
  return [
    "Worst of each run, oldest left. A row is at least 4 U high (0.5 V where U is not evaluated), so that noise stays flat.",
    ...textTable(["level", "runs", "first", "newest", "limit", "bars from"], rows, [
      "left",
      "left",
      "right",
      "right",
      "right",
      "right",
    ]),
  ];
}
