/** Levels of a soak over its hours, each against the limit it must keep. */
import type { LevelContract } from "../../events/levels.ts";
import { limitText, voltsText } from "../../measure/volts-text.ts";
import { newDrawing, text } from "../../pictures/svg.ts";
import {
  across,
  type Box,
  bandAcross,
  CHART_WIDTH,
  chartSvg,
  curve,
  type Interval,
  roomy,
  scale,
  timeAxis,
  voltsAxis,
} from "./chart.ts";
import { shortened } from "./level-plot.ts";
import type { DriftCurve } from "./soak-facts.ts";

const LEFT = 110;
const PANEL = 120;

/** One chart a net and class, in the order in which they were first read. */
export function driftCharts(
  drifts: readonly DriftCurve[],
  { contract, lengthMs }: { readonly contract: LevelContract; readonly lengthMs: number },
): string[] {
  return drifts
    .filter(({ series }) => series.count > 1)
    .map((drift, index) => driftChart(drift, { contract, lengthMs, id: `drift${index}` }));
}

function driftChart(
  { net, expected, series, expandedV }: DriftCurve,
  { contract, lengthMs, id }: { contract: LevelContract; lengthMs: number; id: string },
): string {
  const columns = series.columns();
  const seen = columns.reduce<Interval>(
    ({ from, to }, { low, high }) => ({ from: Math.min(from, low), to: Math.max(to, high) }),
    { from: Number.POSITIVE_INFINITY, to: Number.NEGATIVE_INFINITY },
  );
  const limitV = expected === "high" ? contract.vohV : contract.volV;
  const span = seen.to - seen.from;
  // A limit far off would press the curve flat; then it is told in words instead.
  const isNear =
    Math.abs(limitV - (expected === "high" ? seen.from : seen.to)) < Math.max(2, 6 * span);
  const volts = roomy(
    isNear ? { from: Math.min(seen.from, limitV), to: Math.max(seen.to, limitV) } : seen,
    0.12,
  );
  const box: Box = { left: LEFT, top: 24, width: CHART_WIDTH - LEFT - 16, height: PANEL };
  const x = scale({ from: 0, to: lengthMs }, { from: box.left, to: box.left + box.width });
  const y = scale(volts, { from: box.top + box.height, to: box.top });
  const drawing = newDrawing();
  if (isNear && expected === "high") {
    bandAcross(drawing, box, { from: y(limitV), to: y(volts.from), look: "nowhere" });
  } else if (isNear) {
    bandAcross(drawing, box, { from: y(limitV), to: y(volts.to), look: "nowhere" });
  }
  voltsAxis(drawing, box, { volts, y });
  if (isNear) across(drawing, box, { y: y(limitV), look: "limit" });
  const name = expected === "high" ? "VOH" : "VOL";
  const limit = `${name} ${limitText(limitV)} V${isNear ? "" : ", off this scale"}`;
  text(drawing, { x: LEFT, y: 14, look: "strong" }, `${shortened(net, 24)} ${expected}`);
  text(drawing, { x: box.left + box.width, y: 14, anchor: "end", look: "small" }, limit);
  curve(drawing, columns, {
    x,
    y,
    look: "series",
    breakMs: Math.max(lengthMs / 12, 4 * series.widthMs),
  });
  timeAxis(drawing, box, { lengthMs, x });
  const first = columns[0];
  const last = columns.at(-1);
  const moved =
    first === undefined || last === undefined
      ? ""
      : ` from ${voltsText(middle(first))} to ${voltsText(middle(last))}`;
  const u = expandedV === null ? "" : `, U ${voltsText(expandedV)}`;
  return chartSvg(drawing, {
    id,
    title: `Drift of ${net} ${expected}`,
    description: `${series.count} readings${moved}, between ${voltsText(seen.from)} and ${voltsText(seen.to)}${u}; limit ${limit}.`,
    height: box.top + box.height + 38,
  });
}

function middle({ low, high }: { readonly low: number; readonly high: number }): number {
  return (low + high) / 2;
}
