/** Levels of a unit over its runs, one panel a net and level, in one SVG. */
import { scaleOf, type Trend } from "../history/trend.ts";
import { limitText, voltsText } from "../measure/volts-text.ts";
import { circle, type Drawing, line, MARGIN, newDrawing, ROW, rect, svgText, text } from "./svg.ts";

const PANEL_WIDTH = 640;
const PANEL_HEIGHT = 96;
const LABEL_WIDTH = 96;
const PANEL_GAP = 44;
const HEAD = 2 * ROW;
/** Beyond so many runs a mark for each would be a smear. */
const MARKS_MAX = 60;

export interface TrendPicture {
  readonly title: string;
  readonly trends: readonly Trend[];
}

export function trendSvg({ title, trends }: TrendPicture): string {
  const drawing = newDrawing();
  text(drawing, { x: MARGIN, y: MARGIN + 14, look: "strong" }, title);
  text(
    drawing,
    { x: MARGIN, y: MARGIN + 14 + ROW, look: "faint" },
    "Worst of each run; dashed: limit; bars: expanded uncertainty for 95 %, where evaluated",
  );
  for (const [at, trend] of trends.entries()) {
    drawPanel(drawing, trend, MARGIN + HEAD + ROW + at * (PANEL_HEIGHT + PANEL_GAP));
  }
  return svgText(drawing, {
    title: `Levels of ${title}`,
    description: trends.map(described).join(" "),
    width: 2 * MARGIN + LABEL_WIDTH + PANEL_WIDTH,
    height: MARGIN + HEAD + 2 * ROW + Math.max(1, trends.length) * (PANEL_HEIGHT + PANEL_GAP),
  });
}

function described({ channel, expected, points, limitV }: Trend): string {
  const [first] = points;
  const last = points.at(-1);
  if (first === undefined || last === undefined) return "";
  const limit = limitV === null ? "" : `, limit ${limitText(limitV)} V`;
  return `${channel} ${expected}: ${voltsText(first.worstV)} to ${voltsText(last.worstV)} over ${points.length} runs${limit}.`;
}

function drawPanel(drawing: Drawing, trend: Trend, top: number): void {
  const { points, limitV } = trend;
  const { lowV, highV } = scaleWithLimit(trend);
  const left = MARGIN + LABEL_WIDTH;
  const y = (volts: number) =>
    round(top + PANEL_HEIGHT - ((volts - lowV) / (highV - lowV)) * PANEL_HEIGHT);
  const x = (at: number) =>
    round(left + (points.length < 2 ? 0.5 : at / (points.length - 1)) * PANEL_WIDTH);
  text(drawing, { x: MARGIN, y: top + 14, look: "strong" }, `${trend.channel} ${trend.expected}`);
  text(drawing, { x: left - 8, y: top + 10, anchor: "end" }, limitText(highV));
  text(drawing, { x: left - 8, y: top + PANEL_HEIGHT, anchor: "end" }, limitText(lowV));
  rect(drawing, { x: left, y: top, w: PANEL_WIDTH, h: PANEL_HEIGHT }, "box");
  if (limitV !== null && limitV >= lowV && limitV <= highV) {
    line(
      drawing,
      [
        [left, y(limitV)],
        [left + PANEL_WIDTH, y(limitV)],
      ],
      "rule",
    );
  }
  line(
    drawing,
    points.map(({ worstV }, at) => [x(at), y(worstV)] as const),
    "wire",
  );
  if (points.length <= MARKS_MAX) {
    for (const [at, { worstV, expandedV }] of points.entries()) {
      if (expandedV !== null) {
        line(
          drawing,
          [
            [x(at), clipped(y(worstV - expandedV), top)],
            [x(at), clipped(y(worstV + expandedV), top)],
          ],
          "wire",
        );
      }
      circle(drawing, { x: x(at), y: y(worstV), r: 3 }, "wire");
    }
  }
  const day = (at: number) => new Date(points.at(at)?.openedMs ?? 0).toISOString().slice(0, 10);
  const foot = top + PANEL_HEIGHT + 16;
  text(drawing, { x: left, y: foot, look: "faint" }, day(0));
  text(drawing, { x: left + PANEL_WIDTH, y: foot, anchor: "end", look: "faint" }, day(-1));
}

/** The limit is drawn where it is near; far off it would press all runs into one line. */
function scaleWithLimit(trend: Trend): { readonly lowV: number; readonly highV: number } {
  const own = scaleOf(trend);
  const { limitV } = trend;
  const heightV = own.highV - own.lowV;
  if (limitV === null) return own;
  const lowV = Math.min(own.lowV, limitV);
  const highV = Math.max(own.highV, limitV);
  return highV - lowV <= 4 * heightV ? { lowV, highV } : own;
}

function clipped(y: number, top: number): number {
  return Math.min(top + PANEL_HEIGHT, Math.max(top, y));
}

function round(value: number): number {
  return Math.round(value * 10) / 10;
}
