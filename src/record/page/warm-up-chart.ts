/** Warm-up: each net as it was looked at, from heaters on, and when it was valid and steady. */
import { measuredText } from "../../measure/volts-text.ts";
import { type Drawing, newDrawing, text } from "../../pictures/svg.ts";
import type { AcceptanceRecord } from "../acceptance-record.ts";
import { seconds } from "../record-words.ts";
import {
  across,
  type Box,
  bandAcross,
  CHART_WIDTH,
  chartSvg,
  curve,
  down,
  type Interval,
  roomy,
  type Scale,
  scale,
  timeAxis,
  voltsAxis,
} from "./chart.ts";
import { shortened } from "./level-plot.ts";
import type { WarmCurve, WarmFacts } from "./warm-facts.ts";

const LEFT = 110;
const PANEL = 84;
const GAP = 22;
const TOP = 20;
/** More nets than this are told in the table alone. */
const PANELS_MAX = 24;

export interface WarmUpChart {
  readonly svg: string;
  readonly netsLeftOut: number;
}

/** Null where no net was looked at. */
export function warmUpChart(record: AcceptanceRecord, facts: WarmFacts): WarmUpChart | null {
  const read = facts.curves.filter(({ series }) => series.count > 0);
  if (read.length === 0 || facts.lengthMs <= 0) return null;
  const shown = read.slice(0, PANELS_MAX);
  const drawing = newDrawing();
  const x = scale({ from: 0, to: facts.lengthMs }, { from: LEFT, to: CHART_WIDTH - 16 });
  for (const [index, one] of shown.entries()) {
    const top = TOP + index * (PANEL + GAP);
    const box = { left: LEFT, top, width: CHART_WIDTH - LEFT - 16, height: PANEL };
    drawNet(drawing, one, { box, x, record });
  }
  const foot = TOP + shown.length * (PANEL + GAP) - GAP;
  timeAxis(
    drawing,
    { left: LEFT, top: foot, width: CHART_WIDTH - LEFT - 16, height: 0 },
    {
      lengthMs: facts.lengthMs,
      x,
    },
  );
  return {
    netsLeftOut: read.length - shown.length,
    svg: chartSvg(drawing, {
      id: "warming",
      title: "Volts of each net during warm-up, from heaters on",
      description: describe(record, shown),
      height: foot + 40,
    }),
  };
}

interface NetPlace {
  readonly box: Box;
  readonly x: Scale;
  readonly record: AcceptanceRecord;
}

function drawNet(drawing: Drawing, { net, series }: WarmCurve, { box, x, record }: NetPlace): void {
  const { contract } = record.rule;
  const columns = series.columns();
  const volts = columns.reduce<Interval>(
    ({ from, to }, { low, high }) => ({ from: Math.min(from, low), to: Math.max(to, high) }),
    { from: 0, to: contract.vohV },
  );
  const range = roomy(volts);
  const y = scale(range, { from: box.top + box.height, to: box.top });
  bandAcross(drawing, box, { from: y(range.from), to: y(contract.volV), look: "allowed" });
  bandAcross(drawing, box, { from: y(contract.vohV), to: y(range.to), look: "allowed" });
  bandAcross(drawing, box, { from: y(contract.vilV), to: y(contract.vihV), look: "nowhere" });
  voltsAxis(drawing, box, { volts: range, y });
  across(drawing, box, { y: y(contract.volV), look: "limit" });
  across(drawing, box, { y: y(contract.vohV), look: "limit" });
  text(drawing, { x: 4, y: box.top + 14, look: "strong" }, shortened(net, 9));
  curve(drawing, columns, { x, y, look: "series", breakMs: 30_000 });
  for (const { fromMs, toMs, low } of columns) {
    const at = x((fromMs + toMs) / 2);
    drawing.parts.push(
      `<circle cx="${at.toFixed(1)}" cy="${y(low).toFixed(1)}" r="2" class="dot"/>`,
    );
  }
  const times = record.warmUp.nets.find((one) => one.net === net);
  moment(drawing, box, { x, ms: times?.validByMs ?? null, words: "valid by" });
  moment(drawing, box, { x, ms: times?.steadyByMs ?? null, words: "steady by" });
}

function moment(
  drawing: Drawing,
  box: Box,
  { x, ms, words }: { readonly x: Scale; readonly ms: number | null; readonly words: string },
): void {
  if (ms === null) return;
  const at = Math.min(x(ms), box.left + box.width);
  down(drawing, { top: box.top - 4, height: box.height + 4 }, { x: at, look: "limit" });
  text(
    drawing,
    { x: at - 3, y: box.top - 4, anchor: "end", look: "small" },
    `${words} ${seconds(ms)}`,
  );
}

function describe({ warmUp }: AcceptanceRecord, shown: readonly WarmCurve[]): string {
  const nets = shown.map(({ net, series }) => {
    const times = warmUp.nets.find((one) => one.net === net);
    const last = series.columns().at(-1);
    const valid = times?.validByMs == null ? "never valid" : `valid by ${seconds(times.validByMs)}`;
    const steady = times?.steadyByMs == null ? "" : `, steady by ${seconds(times.steadyByMs)}`;
    return `${net}: ${valid}${steady}${last === undefined ? "" : `, last read ${measuredText(last.low, {})}`}`;
  });
  return `${nets.join("; ")}. The nets are driven high and low in turn, so that each section is seen to pull its net low.`;
}
