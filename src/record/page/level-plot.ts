/** Every net and line against its level contract: all it was read at, its worst case with U. */
import type { LevelClass, LevelContract } from "../../events/levels.ts";
import { limitText, measuredText } from "../../measure/volts-text.ts";
import { type Drawing, newDrawing, rect, text } from "../../pictures/svg.ts";
import type { AcceptanceRecord, ResultTotal } from "../acceptance-record.ts";
import {
  type Box,
  CHART_WIDTH,
  chartSvg,
  down,
  type Interval,
  mark,
  roomy,
  type Scale,
  scale,
  ticks,
} from "./chart.ts";
import type { LevelSpan } from "./level-facts.ts";
import { isBad, resultWords } from "./result-words.ts";

const LEFT = 110;
const ROW = 40;
const TOP = 58;
/** A board of more nets than this is told in the table alone from there on. */
const ROWS_MAX = 64;

interface Row {
  readonly contract: LevelContract;
  readonly channel: string;
  readonly totals: readonly ResultTotal[];
  readonly spans: readonly LevelSpan[];
}

export interface LevelPlot {
  readonly svg: string;
  readonly rowsLeftOut: number;
}

/** Null without a reading. */
export function levelPlot(
  { results, rule }: AcceptanceRecord,
  spans: readonly LevelSpan[],
): LevelPlot | null {
  const rows = rowsOf(results, spans, rule.contract);
  if (rows.length === 0) return null;
  const shown = rows.slice(0, ROWS_MAX);
  const { contract } = rule;
  const volts = roomy(reach(shown, contract), 0.04);
  const box: Box = {
    left: LEFT,
    top: TOP,
    width: CHART_WIDTH - LEFT - 12,
    height: shown.length * ROW,
  };
  const x = scale(volts, { from: box.left, to: box.left + box.width });
  const drawing = newDrawing();
  drawContract(drawing, box, { contract, volts, x });
  for (const [index, row] of shown.entries()) {
    drawRow(drawing, row, { y: box.top + (index + 0.62) * ROW, x });
  }
  return {
    rowsLeftOut: rows.length - shown.length,
    svg: chartSvg(drawing, {
      id: "levels",
      title: "Levels of every net and line against the level contract",
      description: describe(shown, contract),
      height: box.top + box.height + 44,
    }),
  };
}

/** Nets first, then driven lines, each in the order in which it was first read. */
function rowsOf(
  results: readonly ResultTotal[],
  spans: readonly LevelSpan[],
  contract: LevelContract,
): Row[] {
  const of = (kind: ResultTotal["kind"]) => results.filter((one) => one.kind === kind);
  const channels = new Set([...of("net"), ...of("driven line")].map(({ channel }) => channel));
  for (const { channel } of spans) channels.add(channel);
  return [...channels].map((channel) => ({
    contract,
    channel,
    totals: results.filter((one) => one.channel === channel),
    spans: spans.filter((one) => one.channel === channel),
  }));
}

function reach(rows: readonly Row[], { volV, vohV }: LevelContract): Interval {
  const all = rows.flatMap(({ totals, spans }) => [
    ...spans.flatMap(({ lowV, highV }) => [lowV, highV]),
    ...totals.flatMap(({ worst }) => {
      if (worst === null) return [];
      const { volts, expandedV = 0 } = worst;
      return [volts - expandedV, volts + expandedV];
    }),
  ]);
  return all.reduce<Interval>(
    ({ from, to }, volts) => ({ from: Math.min(from, volts), to: Math.max(to, volts) }),
    { from: Math.min(0, volV), to: vohV + (vohV - volV) * 0.2 },
  );
}

function drawContract(
  drawing: Drawing,
  box: Box,
  { contract, volts, x }: { contract: LevelContract; volts: Interval; x: Scale },
): void {
  const { volV, vilV, vihV, vohV } = contract;
  const span = (from: number, to: number, look: "allowed" | "nowhere"): void =>
    rect(drawing, { x: x(from), y: box.top, w: x(to) - x(from), h: box.height }, look);
  span(volts.from, volV, "allowed");
  span(vilV, vihV, "nowhere");
  span(vohV, volts.to, "allowed");
  const limits = [
    ["VOL", volV, "end", 1],
    ["VIL", vilV, "start", 1],
    ["VIH", vihV, "end", 1],
    ["VOH", vohV, "start", 1],
  ] as const;
  for (const [name, at, anchor] of limits) {
    down(drawing, box, { x: x(at), look: "limit" });
    const beside = x(at) + (anchor === "end" ? 3 : -3);
    text(drawing, { x: beside, y: box.top - 20, anchor, look: "strong" }, name);
    text(drawing, { x: beside, y: box.top - 6, anchor, look: "small" }, `${limitText(at)} V`);
  }
  const middle = (from: number, to: number) => (x(from) + x(to)) / 2;
  const words = [
    ["low", volts.from, volV],
    ["between", vilV, vihV],
    ["high", vohV, volts.to],
  ] as const;
  for (const [name, from, to] of words) {
    text(drawing, { x: middle(from, to), y: 14, anchor: "middle", look: "small" }, name);
  }
  const foot = box.top + box.height;
  for (const at of ticks(volts, 10)) {
    text(drawing, { x: x(at), y: foot + 18, anchor: "middle", look: "small" }, String(at));
  }
  text(drawing, { x: box.left + box.width, y: foot + 34, anchor: "end", look: "small" }, "V");
}

function drawRow(
  drawing: Drawing,
  row: Row,
  { y, x }: { readonly y: number; readonly x: Scale },
): void {
  text(drawing, { x: LEFT - 10, y: y + 4, anchor: "end", look: "strong" }, shortened(row.channel));
  const overlap = row.spans.some((one) =>
    row.spans.some((other) => one !== other && one.lowV <= other.highV && other.lowV <= one.highV),
  );
  for (const { expected, lowV, highV } of row.spans) {
    const from = x(lowV);
    // Wrong readings may reach into the other class: then each has half of the row to itself.
    const top = !overlap ? y - 3 : expected === "high" ? y - 6 : y + 1;
    rect(drawing, { x: from - 1, y: top, w: Math.max(2, x(highV) - from + 2), h: 6 }, "range");
  }
  for (const one of worstOf(row)) {
    const { expected, volts, expandedV, isBad } = one;
    if (expandedV !== undefined) {
      whisker(drawing, { y, from: x(volts - expandedV), to: x(volts + expandedV) });
    }
    const shape = expected === "low" ? "down" : expected === "high" ? "up" : "diamond";
    mark(drawing, { x: x(volts), y, shape: isBad ? "cross" : shape }, isBad ? "miss" : "worst");
    const words = measuredText(volts, one);
    text(drawing, { x: x(volts), y: y - 11, anchor: "middle", look: "small" }, words);
  }
}

interface Worst {
  readonly expected: LevelClass;
  readonly volts: number;
  readonly expandedV?: number;
  readonly isBad: boolean;
}

/** From the results that were counted; of a soak, whose cycles are not results one by one, the extremes. */
function worstOf({ totals, spans, contract }: Row): Worst[] {
  if (totals.length > 0) {
    return totals.flatMap((total) =>
      total.worst === null
        ? []
        : [{ ...total.worst, expected: total.expected, isBad: isBad(total) }],
    );
  }
  return spans.map(({ expected, lowV, highV }) =>
    expected === "high"
      ? { expected, volts: lowV, isBad: lowV < contract.vohV }
      : { expected, volts: highV, isBad: highV > contract.volV },
  );
}

function whisker(
  drawing: Drawing,
  { y, from, to }: { readonly y: number; readonly from: number; readonly to: number },
): void {
  const f = from.toFixed(1);
  drawing.parts.push(
    `<path d="M${f} ${y.toFixed(1)}H${to.toFixed(1)}M${f} ${(y - 5).toFixed(1)}v10M${to.toFixed(1)} ${(y - 5).toFixed(1)}v10" class="whisker"/>`,
  );
}

/** Names are as long as their files made them. */
export function shortened(name: string, letters = 13): string {
  const signs = [...name];
  return signs.length <= letters ? name : `${signs.slice(0, letters - 1).join("")}…`;
}

function describe(rows: readonly Row[], { volV, vilV, vihV, vohV }: LevelContract): string {
  const nets = rows.flatMap(({ channel, totals }) =>
    totals.map((total) => {
      const { expected, worst } = total;
      const read =
        worst === null
          ? "no reading"
          : `worst ${measuredText(worst.volts, worst)}, room ${worst.marginV.toFixed(2)} V`;
      return `${channel} ${expected}: ${read}, ${resultWords(total)}`;
    }),
  );
  const extremes = rows.flatMap((row) =>
    row.totals.length > 0
      ? []
      : worstOf(row).map(
          ({ expected, volts, isBad: bad }) =>
            `${row.channel} ${expected}: extreme ${measuredText(volts, {})}${bad ? ", beyond its limit" : ""}`,
        ),
  );
  return `Contract: VOL ${limitText(volV)} V, VIL ${limitText(vilV)} V, VIH ${limitText(vihV)} V, VOH ${limitText(vohV)} V. ${[...nets, ...extremes].join("; ")}.`;
}
