/** Every measured channel: volts, class, what is expected, the result, and its place on the bar. */
import type { ChannelSnapshot, RunSnapshot } from "../journal/snapshot.ts";
import { limitText, uncertaintyText, voltsText } from "../measure/volts-text.ts";
import { goesOn } from "../verdict/decision-rule.ts";
import { judgeReading } from "../verdict/judge.ts";
import { type BarScale, barRuler, barTopV, levelBar } from "./level-bar.ts";
import type { PanelOptions } from "./panel.ts";
import {
  cleanText,
  cutLine,
  padStartText,
  padText,
  span,
  type TextLine,
  type Tone,
  widthOf,
} from "./text-line.ts";

const VOLTS_COLUMNS = 9;
/** ` ±0.71`, where it is evaluated. */
const UNCERTAINTY_COLUMNS = 6;
const CLASS_COLUMNS = 9;
const WANTED_COLUMNS = 8;
const RESULT_COLUMNS = 6;
const SIGN_COLUMNS = 2;
const NAME_COLUMNS_MAX = 12;
const BAR_COLUMNS_MIN = 28;
const BAR_COLUMNS_MAX = 60;

interface LevelColumns {
  readonly name: number;
  /** 0 where no channel has its uncertainty evaluated. */
  readonly uncertainty: number;
  /** 0 when there is no room for a bar worth reading. */
  readonly bar: number;
}

/**
 * Title row and one row a channel. With fewer than all rows, channels that missed come first, then
 * those the running step expects something of; a last row says how many are not shown.
 */
export function levelsPanel(
  snapshot: RunSnapshot,
  options: PanelOptions & { readonly rows: number },
): TextLine[] {
  const { plan } = snapshot;
  const channels = levelChannels(snapshot).map((one) => heldChannel(one, snapshot));
  if (plan === null || channels.length === 0 || options.rows < 1) return [];
  const widths = levelColumns(channels, options.columns);
  const plateHighV = plan.rails.find((one) => one.rail === "plate")?.window.highV ?? null;
  const scale: BarScale = {
    columns: widths.bar,
    contract: plan.contract,
    topV: barTopV(plan.contract, plateHighV),
  };
  const room = options.rows - 1;
  const shown = chooseChannels(channels, room, snapshot.firstMiss?.net ?? null);
  const hidden = channels.length - shown.length;
  const driven = new Set(
    plan.channels.filter((one) => one.reads.kind === "line").map((one) => one.name),
  );
  const rows = shown.map((channel) =>
    levelRow({ ...channel, driven: driven.has(channel.channel) }, widths, scale, options),
  );
  const more = hidden > 0 ? [hiddenRow(channels, shown)] : [];
  return [levelTitle(widths, scale, options), ...rows, ...more]
    .slice(0, options.rows)
    .map((line) => cutLine(line, options.columns, options.glyphs.cut));
}

/** Channels with a level contract: nets and driven lines, in the order of the plan. */
export function levelChannels(snapshot: RunSnapshot): ChannelSnapshot[] {
  const { plan } = snapshot;
  if (plan === null) return [];
  return snapshot.channels.filter((one) => {
    const reads = plan.channels.find((planned) => planned.name === one.channel)?.reads;
    return reads?.kind === "net" || reads?.kind === "line";
  });
}

/**
 * In a hold the readings as expected are counted, not told one by one; a channel that now reads
 * what the hold wants is shown as ok. A miss is never made here: it comes with an event of its own.
 */
function heldChannel(channel: ChannelSnapshot, { plan, phase }: RunSnapshot): ChannelSnapshot {
  const { volts, noReading, expected, result, expandedV } = channel;
  if (plan === null || phase !== "holding" || result !== null || expected === null) return channel;
  const codes = { sum: 0, count: 0, min: 0, max: 0 };
  const reading = { channel: channel.channel, volts, noReading, ...codes, expandedV };
  const judged = judgeReading(reading, expected, plan);
  return goesOn(judged.result) ? { ...channel, result: judged.result } : channel;
}

/** The limits in words, for the title and for narrow terminals. */
export function contractText(snapshot: RunSnapshot): string {
  const contract = snapshot.plan?.contract;
  if (contract === undefined) return "";
  const { volV, vilV, vihV, vohV } = contract;
  return `VOL ${limitText(volV)}  VIL ${limitText(vilV)}  VIH ${limitText(vihV)}  VOH ${limitText(vohV)} V`;
}

function levelColumns(channels: readonly ChannelSnapshot[], columns: number): LevelColumns {
  const longest = Math.max(7, ...channels.map((one) => widthOf(one.channel)));
  const name = Math.min(NAME_COLUMNS_MAX, longest) + 1;
  const isEvaluated = channels.some((one) => one.expandedV !== undefined);
  const uncertainty = isEvaluated ? UNCERTAINTY_COLUMNS : 0;
  const words =
    SIGN_COLUMNS +
    name +
    VOLTS_COLUMNS +
    uncertainty +
    1 +
    CLASS_COLUMNS +
    WANTED_COLUMNS +
    RESULT_COLUMNS;
  const bar = Math.min(BAR_COLUMNS_MAX, columns - words - 1);
  return { name, uncertainty, bar: bar >= BAR_COLUMNS_MIN ? bar : 0 };
}

function levelTitle(widths: LevelColumns, scale: BarScale, { glyphs }: PanelOptions): TextLine {
  const words = [
    "  ",
    padText("Channel", widths.name, glyphs.cut),
    padStartText("volts", VOLTS_COLUMNS, glyphs.cut),
    padStartText(`${glyphs.plusMinus}U`, widths.uncertainty, ""),
    " ",
    padText("reads", CLASS_COLUMNS, glyphs.cut),
    padText("wanted", WANTED_COLUMNS, glyphs.cut),
    padText("", RESULT_COLUMNS, glyphs.cut),
  ].join("");
  return [span(words, "faint"), span(widths.bar > 0 ? barRuler(scale) : "", "faint")];
}

function levelRow(
  channel: ChannelSnapshot & { readonly driven: boolean },
  widths: LevelColumns,
  scale: BarScale,
  { glyphs, ascii }: PanelOptions,
): TextLine {
  const { sign, word, tone } = resultWords(channel, glyphs);
  const name = padText(cleanText(channel.channel, ascii), widths.name, glyphs.cut);
  const bar = widths.bar > 0 ? levelBar({ ...channel, tone }, scale, glyphs) : [];
  return [
    span(`${sign} `, tone),
    span(name, tone === "bad" ? "strong" : "plain"),
    ...readingSpans(channel, widths.uncertainty, glyphs),
    span(padText(channel.expected ?? "", WANTED_COLUMNS, glyphs.cut)),
    span(padText(word, RESULT_COLUMNS, glyphs.cut), tone),
    ...bar,
  ];
}

function readingSpans(
  channel: ChannelSnapshot,
  uncertainty: number,
  { cut, plusMinus }: PanelOptions["glyphs"],
): TextLine {
  const columns = VOLTS_COLUMNS + uncertainty + 1 + CLASS_COLUMNS;
  if (channel.volts === null) {
    const said = channel.noReading === null ? "not read yet" : `none: ${channel.noReading}`;
    return [span(`  ${padText(said, columns - 2, cut)}`, channel.noReading ? "warning" : "faint")];
  }
  const { expandedV } = channel;
  const known = expandedV === undefined ? "" : `${plusMinus}${uncertaintyText(expandedV)}`;
  return [
    span(padStartText(voltsText(channel.volts), VOLTS_COLUMNS, cut), "strong"),
    span(`${padStartText(known, uncertainty, cut)} `, "faint"),
    span(padText(channel.class ?? "", CLASS_COLUMNS, cut)),
  ];
}

function resultWords(
  channel: ChannelSnapshot,
  glyphs: PanelOptions["glyphs"],
): { sign: string; word: string; tone: Tone } {
  if (channel.result === "pass") return { sign: glyphs.good, word: "ok", tone: "good" };
  if (channel.result === "conditional pass") {
    return { sign: glyphs.unsure, word: "ok?", tone: "warning" };
  }
  if (channel.result === "conditional fail") {
    return { sign: glyphs.unsure, word: "miss?", tone: "bad" };
  }
  if (channel.result === "fail") return { sign: glyphs.bad, word: "MISS", tone: "bad" };
  if (channel.result === "void") return { sign: glyphs.unsure, word: "VOID", tone: "warning" };
  return { sign: " ", word: "", tone: "plain" };
}

function chooseChannels(
  channels: readonly ChannelSnapshot[],
  room: number,
  missed: string | null,
): ChannelSnapshot[] {
  if (channels.length <= room) return [...channels];
  const urgency = (one: ChannelSnapshot): number => {
    if (one.result === "fail" || one.channel === missed) return 0;
    if (one.result === "void" || one.noReading !== null) return 1;
    if (one.result === "conditional fail" || one.result === "conditional pass") return 1;
    return one.expected === null ? 3 : 2;
  };
  const kept = new Set(
    channels
      .map((one, index) => ({ one, index }))
      .sort((a, b) => urgency(a.one) - urgency(b.one) || a.index - b.index)
      .slice(0, Math.max(0, room - 1))
      .map(({ one }) => one),
  );
  return channels.filter((one) => kept.has(one));
}

function hiddenRow(
  channels: readonly ChannelSnapshot[],
  shown: readonly ChannelSnapshot[],
): TextLine {
  const hidden = channels.filter((one) => !shown.includes(one));
  const missed = hidden.filter((one) => one.result !== null && one.result !== "pass").length;
  const state = missed > 0 ? `${missed} of them not ok` : "none of them missed";
  return [span(`  and ${hidden.length} more, ${state}`, missed > 0 ? "bad" : "faint")];
}
