/** Wrong cycles of a soak: when they came, and each with the cycles around it. */
import type { LevelContract } from "../../events/levels.ts";
import { voltsText } from "../../measure/volts-text.ts";
import { type Drawing, newDrawing, rect, text } from "../../pictures/svg.ts";
import { duration } from "../../plan/quantity-words.ts";
import {
  across,
  type Box,
  bandAcross,
  CHART_WIDTH,
  chartSvg,
  down,
  type Interval,
  mark,
  roomy,
  type Scale,
  scale,
  ticks,
  timeAxis,
  voltsAxis,
} from "./chart.ts";
import { shortened } from "./level-plot.ts";
import type { DrawnError, SoakFacts } from "./soak-facts.ts";

const LEFT = 60;
const WIDTH = 350;
const PANEL = 90;

/** How many wrong cycles were kept in each stretch of the run; null without one. */
export function errorBars({ bars, barMs }: SoakFacts, lengthMs: number): string | null {
  const most = bars.reduce((found, count) => Math.max(found, count), 0);
  if (most === 0 || lengthMs <= 0) return null;
  const drawing = newDrawing();
  const box: Box = { left: LEFT, top: 12, width: CHART_WIDTH - LEFT - 16, height: PANEL };
  const x = scale({ from: 0, to: lengthMs }, { from: box.left, to: box.left + box.width });
  const y = scale({ from: 0, to: most }, { from: box.top + box.height, to: box.top });
  for (const at of ticks({ from: 0, to: most }, 3)) {
    if (!Number.isInteger(at)) continue;
    across(drawing, box, { y: y(at), look: "grid" });
    text(drawing, { x: box.left - 6, y: y(at) + 4, anchor: "end", look: "small" }, String(at));
  }
  for (const [index, count] of bars.entries()) {
    if (count === 0) continue;
    const from = x(index * barMs);
    const to = x(Math.min(lengthMs, (index + 1) * barMs));
    rect(
      drawing,
      { x: from, y: y(count), w: Math.max(1, to - from - 1), h: y(0) - y(count) },
      "bar",
    );
  }
  timeAxis(drawing, box, { lengthMs, x });
  const total = bars.reduce((sum, count) => sum + count, 0);
  return chartSvg(drawing, {
    id: "errors",
    title: "Wrong cycles over time",
    description: `${total} wrong cycles kept, at most ${most} in ${duration(barMs)}.`,
    height: box.top + box.height + 38,
  });
}

/** The net that was off, in the step in which it was, through the cycles around it. */
export function errorPlot(error: DrawnError, contract: LevelContract): string | null {
  const net = netAt(error);
  const cycles = [...error.before, error.own, ...error.after].map(({ cycle, volts }) => ({
    at: cycle - error.cycle,
    volts: net === null ? null : (volts[error.step]?.[net] ?? null),
  }));
  const read = cycles.flatMap(({ volts }) => (volts === null ? [] : [volts]));
  if (read.length === 0) return null;
  const drawing = newDrawing();
  const box: Box = { left: LEFT, top: 10, width: WIDTH - LEFT - 10, height: PANEL };
  const volts = roomy(
    {
      from: Math.min(...read, contract.vilV),
      to: Math.max(...read, contract.vihV),
    },
    0.12,
  );
  const reach: Interval = { from: Math.min(-1, ...ats(cycles)), to: Math.max(1, ...ats(cycles)) };
  const x = scale(roomy(reach, 0.04), { from: box.left, to: box.left + box.width });
  const y = scale(volts, { from: box.top + box.height, to: box.top });
  bandAcross(drawing, box, { from: y(contract.vilV), to: y(contract.vihV), look: "nowhere" });
  voltsAxis(drawing, box, { volts, y });
  down(drawing, box, { x: x(0), look: "grid" });
  drawCycles(drawing, cycles, { x, y });
  across(drawing, box, { y: box.top + box.height, look: "axis" });
  for (const at of ticks(reach, 5)) {
    const words = at === 0 ? "wrong" : at > 0 ? `+${at}` : String(at);
    text(
      drawing,
      { x: x(at), y: box.top + box.height + 15, anchor: "middle", look: "small" },
      words,
    );
  }
  const { off } = error;
  const value = off.volts === null ? "no reading" : voltsText(off.volts);
  return chartSvg(drawing, {
    id: `error${error.error}`,
    title: `Cycle ${error.cycle} and those around it, ${shortened(off.channel, 24)}`,
    description: `${value} in cycle ${error.cycle}, expected ${off.expected}; ${error.before.length} cycles before it and ${error.after.length} after it were kept.`,
    height: box.top + box.height + 24,
    width: WIDTH,
  });
}

interface PlottedCycle {
  readonly at: number;
  readonly volts: number | null;
}

function ats(cycles: readonly PlottedCycle[]): number[] {
  return cycles.map(({ at }) => at);
}

function drawCycles(
  drawing: Drawing,
  cycles: readonly PlottedCycle[],
  { x, y }: { readonly x: Scale; readonly y: Scale },
): void {
  for (const { at, volts } of cycles) {
    if (volts === null) continue;
    const isWrong = at === 0;
    mark(
      drawing,
      { x: x(at), y: y(volts), shape: isWrong ? "cross" : "square" },
      isWrong ? "miss" : "worst",
    );
  }
}

/** Place of the net that was off among the volts of its step. */
function netAt({ off, nets }: DrawnError): number | null {
  const at = nets.indexOf(off.channel);
  return at < 0 ? null : at;
}
