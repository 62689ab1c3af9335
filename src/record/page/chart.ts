/**
 * Axes and frames of charts, as SVG inside a page. Written out by hand on the picture writer that draws
 * boards: a chart library brings some sixty packages for the few shapes that are needed here.
 */
import { type Drawing, escapeXml, type Look, line, px, rect, text } from "../../pictures/svg.ts";
import type { CurveColumn } from "./min-max-series.ts";

/** Charts are drawn this wide and scaled to the page; at the width of paper their text has 9 points. */
export const CHART_WIDTH = 720;

export interface Interval {
  readonly from: number;
  readonly to: number;
}

/** Where on the picture a value lies. */
export type Scale = (value: number) => number;

export function scale(values: Interval, pixels: Interval): Scale {
  const span = values.to - values.from;
  return span === 0
    ? () => (pixels.from + pixels.to) / 2
    : (value) => pixels.from + ((value - values.from) / span) * (pixels.to - pixels.from);
}

/** Round values, about `count` of them, inside the interval. */
export function ticks({ from, to }: Interval, count: number): number[] {
  const rough = (to - from) / Math.max(1, count);
  if (!(rough > 0)) return [from];
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((one) => one * power).find((one) => one >= rough) ?? rough;
  const first = Math.ceil(from / step - 1e-9);
  const last = Math.floor(to / step + 1e-9);
  return Array.from({ length: last - first + 1 }, (_, at) =>
    Number(((first + at) * step).toPrecision(12)),
  );
}

/** The interval with room beside it, so that no mark sits on the frame. */
export function roomy({ from, to }: Interval, part = 0.06): Interval {
  const room = to === from ? 1 : (to - from) * part;
  return { from: from - room, to: to + room };
}

interface TimeUnit {
  readonly name: "s" | "min" | "h";
  readonly ms: number;
}

/** Seconds, minutes or hours: what gives the axis short figures. */
function timeUnit(lengthMs: number): TimeUnit {
  if (lengthMs < 5 * 60_000) return { name: "s", ms: 1000 };
  if (lengthMs < 3 * 3_600_000) return { name: "min", ms: 60_000 };
  return { name: "h", ms: 3_600_000 };
}

export interface Box {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/** Volts up the left side of a box, with lines across it. */
export function voltsAxis(
  drawing: Drawing,
  box: Box,
  { volts, y }: { volts: Interval; y: Scale },
): void {
  for (const at of ticks(volts, Math.max(2, Math.floor(box.height / 28)))) {
    across(drawing, box, { y: y(at), look: "grid" });
    text(drawing, { x: box.left - 6, y: y(at) + 4, anchor: "end", look: "small" }, String(at));
  }
}

/** Time along the foot of a box. */
export function timeAxis(
  drawing: Drawing,
  box: Box,
  { lengthMs, x }: { lengthMs: number; x: Scale },
): void {
  const unit = timeUnit(lengthMs);
  const y = box.top + box.height;
  across(drawing, box, { y, look: "axis" });
  for (const at of ticks({ from: 0, to: lengthMs / unit.ms }, 8)) {
    const atX = x(at * unit.ms);
    line(
      drawing,
      [
        [atX, y],
        [atX, y + 4],
      ],
      "axis",
    );
    text(drawing, { x: atX, y: y + 16, anchor: "middle", look: "small" }, String(at));
  }
  text(drawing, { x: box.left + box.width, y: y + 30, anchor: "end", look: "small" }, unit.name);
}

/** A line from side to side. */
export function across(
  drawing: Drawing,
  { left, width }: Box,
  { y, look }: { readonly y: number; readonly look: Look },
): void {
  line(
    drawing,
    [
      [left, y],
      [left + width, y],
    ],
    look,
  );
}

/** A line from top to foot. */
export function down(
  drawing: Drawing,
  { top, height }: Pick<Box, "top" | "height">,
  { x, look }: { readonly x: number; readonly look: Look },
): void {
  line(
    drawing,
    [
      [x, top],
      [x, top + height],
    ],
    look,
  );
}

/** Between two values, from side to side; what lies outside the box is cut off. */
export function bandAcross(
  drawing: Drawing,
  box: Box,
  { from, to, look }: { readonly from: number; readonly to: number; readonly look: Look },
): void {
  const bottom = box.top + box.height;
  const top = Math.max(box.top, Math.min(from, to));
  const foot = Math.min(bottom, Math.max(from, to));
  if (foot <= top) return;
  rect(drawing, { x: box.left, y: top, w: box.width, h: foot - top }, look);
}

/**
 * A curve through its columns: down and up again where a column held more than one value. It breaks
 * where nothing was read for longer than `breakMs`.
 */
export function curve(
  drawing: Drawing,
  columns: readonly CurveColumn[],
  { x, y, look, breakMs }: { x: Scale; y: Scale; look: Look; breakMs: number },
): void {
  let points: (readonly [number, number])[] = [];
  let lastMs: number | null = null;
  const flush = (): void => {
    const [first] = points;
    // A point alone has no length: a short stroke makes it visible.
    if (first !== undefined && points.length === 1) points.push([first[0] + 1, first[1]]);
    if (points.length > 0) line(drawing, points, look);
    points = [];
  };
  for (const { fromMs, toMs, low, high } of columns) {
    if (lastMs !== null && fromMs - lastMs > breakMs) flush();
    lastMs = toMs;
    const atX = x((fromMs + toMs) / 2);
    points.push([atX, y(low)]);
    if (high !== low) points.push([atX, y(high)]);
  }
  flush();
}

/** Small shapes that differ by their form, for marks of different kinds. */
export type Shape = "square" | "diamond" | "cross" | "up" | "down";

export function mark(
  drawing: Drawing,
  { x, y, shape }: { readonly x: number; readonly y: number; readonly shape: Shape },
  look: Look,
): void {
  const r = 5;
  const paths: Readonly<Record<Shape, string>> = {
    square: `M${px(x - 4)} ${px(y - 4)}h8v8h-8z`,
    diamond: `M${px(x)} ${px(y - r - 1)}l6 6l-6 6l-6-6z`,
    cross: `M${px(x - r)} ${px(y - r)}l10 10m0-10l-10 10`,
    up: `M${px(x)} ${px(y - r)}l5 9h-10z`,
    down: `M${px(x)} ${px(y + r)}l5-9h-10z`,
  };
  drawing.parts.push(`<path d="${paths[shape]}" class="${look}"/>`);
}

export interface ChartFrame {
  /** Unique in the page. */
  readonly id: string;
  readonly title: string;
  /** What a person reads off the chart, for one who cannot see it. */
  readonly description: string;
  readonly height: number;
  readonly width?: number;
}

/** The SVG of a chart, to stand in a page that has the looks. */
export function chartSvg(drawing: Drawing, frame: ChartFrame): string {
  const { id, title, description, height, width = CHART_WIDTH } = frame;
  return [
    `<svg viewBox="0 0 ${width} ${px(height)}" role="img" aria-labelledby="${id}-t ${id}-d">`,
    `<title id="${id}-t">${escapeXml(title)}</title>`,
    `<desc id="${id}-d">${escapeXml(description)}</desc>`,
    ...drawing.parts,
    "</svg>",
  ].join("\n");
}
