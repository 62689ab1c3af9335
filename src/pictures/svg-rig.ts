/** The rig in an SVG: outputs in words, channels as bars of the volts each can read. */
import type { Rig, RigChannel } from "../formats/rig.schema.ts";
import { readableRange, volts } from "../plan/divider-range.ts";
import { channelName } from "../plan/proof-documents.ts";
import { type Drawing, type Extent, LETTER, line, MARGIN, ROW, rect, text } from "./svg.ts";
import {
  dividerWords,
  outputWords,
  type PictureGiven,
  rangeWords,
  rigHeading,
  shuntWords,
} from "./text-picture.ts";

const BAR_WIDTH = 240;
const BAR_HEIGHT = 8;
const COLUMN_GAP = 20;

export function drawRig(
  drawing: Drawing,
  { board, rig }: Pick<PictureGiven, "board" | "rig">,
  top: number,
): Extent {
  text(drawing, { x: MARGIN, y: top + 14, look: "strong" }, rigHeading(rig));
  const outputs = [...rig.outputs].sort((a, b) => a.output - b.output);
  let y = top + 14 + 1.5 * ROW;
  let right = MARGIN + rigHeading(rig).length * (LETTER + 1);
  for (const output of outputs) {
    const words = outputWords(output);
    const wordsX = MARGIN + 13 * LETTER;
    text(drawing, { x: MARGIN, y, look: "faint" }, `output ${output.output}`);
    text(drawing, { x: wordsX, y }, words);
    right = Math.max(right, wordsX + words.length * LETTER);
    y += ROW;
  }
  const channels = drawChannels(
    drawing,
    { rig, ceilingV: (one) => ceilingOf(one, board) },
    y + ROW / 2,
  );
  let bottom = channels.bottom;
  for (const words of shuntWords(rig)) {
    bottom += ROW;
    text(drawing, { x: MARGIN, y: bottom }, words);
  }
  return { bottom, right: Math.max(right, channels.right) };
}

function ceilingOf(channel: RigChannel, board: PictureGiven["board"]): number | null {
  return "rail" in channel ? (board.rails[channel.rail]?.ceilingV ?? null) : null;
}

interface Channels {
  readonly rig: Rig;
  /** Ceiling of the rail a channel reads; null for nets and lines. */
  readonly ceilingV: (channel: RigChannel) => number | null;
}

/** One row a channel: name, divider, number, and a bar over one scale of volts for all. */
function drawChannels(drawing: Drawing, { rig, ceilingV }: Channels, top: number): Extent {
  const channels = [...rig.channels].sort((a, b) => a.channel - b.channel);
  const ranges = channels.map((one) => readableRange(one, rig.referenceV));
  const lowV = Math.min(0, ...ranges.map((range) => range.lowV));
  const highV = Math.max(1, ...ranges.map((range) => range.highV));
  const widest = (words: readonly string[]) =>
    Math.max(0, ...words.map((one) => one.length)) * LETTER;
  const nameX = MARGIN + 13 * LETTER;
  const dividerX = nameX + widest(channels.map(channelName)) + COLUMN_GAP;
  const barX = dividerX + widest(channels.map(dividerWords)) + COLUMN_GAP;
  const place = (value: number) => barX + ((value - lowV) / (highV - lowV)) * BAR_WIDTH;
  const rangeX = barX + BAR_WIDTH + COLUMN_GAP;
  for (const [index, channel] of channels.entries()) {
    const y = top + (index + 1) * ROW;
    const range = ranges[index];
    if (range === undefined) continue;
    text(drawing, { x: MARGIN, y, look: "faint" }, `channel ${channel.channel}`);
    text(drawing, { x: nameX, y, look: "strong" }, channelName(channel));
    text(drawing, { x: dividerX, y }, dividerWords(channel));
    text(drawing, { x: rangeX, y }, rangeWords(channel, rig.referenceV));
    const x = place(range.lowV);
    rect(drawing, { x, y: y - 8, w: place(range.highV) - x, h: BAR_HEIGHT }, "box");
    const ceiling = ceilingV(channel);
    if (ceiling !== null) {
      const at = place(ceiling);
      line(
        drawing,
        [
          [at, y - 11],
          [at, y + 3],
        ],
        "wire",
      );
    }
  }
  const bottom = top + (channels.length + 1) * ROW;
  const zero = place(0);
  line(
    drawing,
    [
      [zero, top + 4],
      [zero, bottom - ROW + 6],
    ],
    "rule",
  );
  text(drawing, { x: zero, y: bottom, anchor: "middle", look: "faint" }, volts(0));
  const note = "bar: what can be read; stroke: ceiling of the rail";
  text(drawing, { x: rangeX, y: bottom, look: "faint" }, note);
  const widestRange = widest(channels.map((one) => rangeWords(one, rig.referenceV)));
  return { bottom: bottom + 6, right: rangeX + Math.max(widestRange, note.length * LETTER) };
}
