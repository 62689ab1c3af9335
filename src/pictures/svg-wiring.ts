/**
 * The wiring of a rig in an SVG: each output with its driver and what its contact does, each channel with its
 * divider and capacitor, and what protects them. Values are the rig file's own.
 */
import type { Board } from "../formats/board.schema.ts";
import type { Rig, RigOutput } from "../formats/rig.schema.ts";
import { channelName } from "../plan/proof-documents.ts";
import { rigOwnChannels, type WiredChannel } from "./rig-channels.ts";
import { type Drawing, LETTER, line, MARGIN, newDrawing, ROW, rect, svgText, text } from "./svg.ts";
import { isSolidState, ohmText, SWITCH_LED, wiringRemarks } from "./wiring-parts.ts";

const WIDTH = 1080;
const STEP = 66;
const PINS = ["PD2", "PD3", "PD4", "PD5", "PD6", "PD7", "PB0", "PB1"];
/** Converter pin and multiplexer input by channel (firmware-protocol/PROTOCOL.md, section 3). */
const RAIL_CHANNELS = 6;

const NOTES = [
  "Across every contact that breaks a rail or a load: a snubber, 100 Ohm and 100 nF in series. Solid-state switches need none and no diode.",
  "Coils have a supply of their own, fused, through an off switch that needs no program; no coil hangs on USB.",
  "K3's coil goes through the bias-present interlock and the cover contact: without bias no plate, whatever the program does.",
  "In reset, in the bootloader and without power every gate is pulled to common: undriven is off.",
  "Every supply has a fuse. Reservoirs and bleeders on the board side: firmware-protocol/wiring, section 4.",
  "The USB ground is the computer's: isolate the link, or let the supplies float. Common goes to earth in one place.",
  "Above 60 V DC between any two points work as for dangerous voltage. Local codes and licensed practice come first.",
];

export function wiringSvg({ board, rig }: { readonly board: Board; readonly rig: Rig }): string {
  const drawing = newDrawing();
  const title = `Wiring of rig ${rig.rig} for board ${rig.board}`;
  text(drawing, { x: MARGIN, y: MARGIN + 10, look: "strong" }, title);
  let y = MARGIN + 2 * ROW;
  for (const output of [...rig.outputs].sort((a, b) => a.output - b.output)) {
    y += STEP;
    drawOutput(drawing, output, y);
  }
  y += STEP;
  text(drawing, { x: MARGIN, y, look: "strong" }, `Channels, reference ${rig.referenceV} V`);
  const channels = channelsOf(rig);
  for (const channel of channels) {
    y += STEP;
    drawChannel(drawing, channel, y);
  }
  y += STEP;
  const ceilingV = Math.max(
    ...Object.values(board.rails).map((rail) => Math.abs(rail?.ceilingV ?? 0)),
  );
  for (const words of [...NOTES, ...wiringRemarks(rig, ceilingV)]) {
    for (const row of wrapped(words, Math.floor((WIDTH - 2 * MARGIN) / LETTER))) {
      text(drawing, { x: MARGIN, y }, row);
      y += ROW;
    }
  }
  const description = `${rig.outputs.length} outputs and ${channels.length} channels, with every value`;
  return svgText(drawing, { title, description, width: WIDTH, height: y + MARGIN });
}

/** Channels, shunts and what reads the rig itself, by their number. */
function channelsOf(rig: Rig): WiredChannel[] {
  const shunts = (rig.shunts ?? []).map((shunt) => ({
    ...shunt,
    name: `${shunt.rail} return`,
  }));
  const named = rig.channels.map((channel) => ({ ...channel, name: channelName(channel) }));
  return [...named, ...shunts, ...rigOwnChannels(rig)].sort((a, b) => a.channel - b.channel);
}

function drawOutput(drawing: Drawing, output: RigOutput, y: number): void {
  const number = output.output;
  text(drawing, { x: MARGIN, y: y - 12, look: "strong" }, `output ${number}`);
  text(drawing, { x: MARGIN, y: y + 4, look: "faint" }, PINS[number - 1] ?? "");
  if (output.drive === "trigger") {
    resistor(drawing, { x: 110, y }, "1 k");
    wire(drawing, 180, y, 360);
    text(
      drawing,
      { x: 370, y: y + 4 },
      `${output.line}: trigger input of an oscilloscope, no relay`,
    );
    return;
  }
  resistor(drawing, { x: 110, y }, "1 k");
  toCommon(drawing, 226, y, "10 k");
  wire(drawing, 180, y, 276);
  rect(drawing, { x: 276, y: y - 14, w: 60, h: 28 }, "box");
  text(drawing, { x: 306, y: y + 4, anchor: "middle" }, "FET");
  wire(drawing, 336, y, 360);
  rect(drawing, { x: 360, y: y - 14, w: 90, h: 28 }, "box");
  const solid = isSolidState(output);
  text(drawing, { x: 405, y: y + 4, anchor: "middle" }, solid ? "opto FET" : `coil K${number}`);
  const coil = solid ? `from +5 V coils through ${SWITCH_LED}` : "from +5 V coils; diode across";
  const plate = output.drive === "relay" && output.rail === "plate";
  text(drawing, { x: 360, y: y + 28, look: "faint" }, plate ? "through interlock and cover" : coil);
  line(
    drawing,
    [
      [450, y],
      [484, y],
    ],
    "rule",
  );
  drawContact(drawing, output, y);
}

function drawContact(drawing: Drawing, output: RigOutput, y: number): void {
  const x = 490;
  const words = (from: string, to: string, between: string) => {
    text(drawing, { x, y: y + 4 }, from);
    const after = x + (from.length + 1) * LETTER;
    wire(drawing, after, y, after + 24);
    rect(drawing, { x: after + 24, y: y - 10, w: (between.length + 1) * LETTER, h: 20 }, "box");
    text(drawing, { x: after + 28, y: y + 4 }, between);
    const end = after + 24 + (between.length + 1) * LETTER;
    wire(drawing, end, y, end + 24);
    text(drawing, { x: end + 30, y: y + 4, look: "strong" }, to);
  };
  switch (output.drive) {
    case "relay":
      words(
        `${output.sourceV} V, fuse`,
        `${output.rail} at the board`,
        `make, ${ohmText(output.sourceOhm)}`,
      );
      return;
    case "load":
      words(`${output.net}`, `to ${output.to}`, `make, ${ohmText(output.loadOhm)}`);
      text(drawing, { x, y: y - 14, look: "faint" }, `load ${output.line}`);
      return;
    case "changeover": {
      const { released, operated } = output;
      const place = (one: typeof released) =>
        `${one.from === undefined ? "" : `${one.from}, `}${one.sourceV} V ${ohmText(one.sourceOhm)}`;
      text(drawing, { x, y: y - 10 }, `released: ${place(released)} (${released.level})`);
      text(drawing, { x, y: y + 10 }, `operated: ${place(operated)} (${operated.level})`);
      wire(drawing, x + 300, y, x + 340);
      text(drawing, { x: x + 346, y: y + 4, look: "strong" }, `line ${output.line}`);
      return;
    }
    default:
      return;
  }
}

function drawChannel(drawing: Drawing, channel: WiredChannel, y: number): void {
  text(drawing, { x: MARGIN, y: y - 12, look: "strong" }, channel.name);
  wire(drawing, MARGIN + 100, y, 160);
  resistor(drawing, { x: 160, y }, ohmText(channel.topOhm));
  wire(drawing, 230, y, 620);
  if (channel.bottomOhm !== null) toCommon(drawing, 280, y, ohmText(channel.bottomOhm));
  if (channel.capacitorNf > 0) toCommon(drawing, 400, y, `${channel.capacitorNf} nF`);
  if (channel.pullUpOhm !== undefined) {
    line(
      drawing,
      [
        [520, y],
        [520, y - 12],
      ],
      "wire",
    );
    rect(drawing, { x: 492, y: y - 30, w: 56, h: 18 }, "box");
    text(drawing, { x: 520, y: y - 17, anchor: "middle" }, ohmText(channel.pullUpOhm));
    text(drawing, { x: 554, y: y - 17, look: "faint" }, "to AVCC");
  }
  text(drawing, { x: 630, y: y + 4 }, pinOf(channel.channel));
}

function pinOf(channel: number): string {
  if (channel <= RAIL_CHANNELS) return `channel ${channel}: ADC${channel - 1}`;
  const input = channel - RAIL_CHANNELS - 1;
  const multiplexer = input < 8 ? "A" : "B";
  return `channel ${channel}: multiplexer ${multiplexer}, input ${input % 8}, to ADC${input < 8 ? 6 : 7}`;
}

function wire(drawing: Drawing, x: number, y: number, to: number): void {
  line(
    drawing,
    [
      [x, y],
      [to, y],
    ],
    "wire",
  );
}

function resistor(
  drawing: Drawing,
  at: { readonly x: number; readonly y: number },
  value: string,
): void {
  const { x, y } = at;
  rect(drawing, { x, y: y - 9, w: 70, h: 18 }, "box");
  text(drawing, { x: x + 35, y: y + 4, anchor: "middle" }, value);
}

/** A part from the wire down to common, with its value inside. */
function toCommon(drawing: Drawing, x: number, y: number, value: string): void {
  line(
    drawing,
    [
      [x, y],
      [x, y + 10],
    ],
    "wire",
  );
  rect(drawing, { x: x - 34, y: y + 10, w: 68, h: 18 }, "box");
  text(drawing, { x, y: y + 23, anchor: "middle" }, value);
  line(
    drawing,
    [
      [x, y + 28],
      [x, y + 34],
    ],
    "wire",
  );
  line(
    drawing,
    [
      [x - 8, y + 34],
      [x + 8, y + 34],
    ],
    "wire",
  );
}

function wrapped(words: string, width: number): string[] {
  const rows: string[] = [];
  let row = "";
  for (const word of words.split(" ")) {
    if (row !== "" && row.length + 1 + word.length > width) {
      rows.push(row);
      row = word;
    } else {
      row = row === "" ? word : `${row} ${word}`;
    }
  }
  return [...rows, row];
}
