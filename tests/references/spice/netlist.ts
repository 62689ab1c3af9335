/**
 * A shipped board, its supplies, line sources, loads and dividers as a SPICE netlist for one settled
 * state. Made from the YAML files and the published constants written out here; shares nothing with
 * src. Diodes are SPICE's own model, triodes are B-sources, cathodes are hot.
 */
import { parse } from "yaml";
import { readShipped, type Stop } from "./stops.ts";

interface Part {
  readonly part: string;
  readonly kind: string;
  readonly tube?: string;
  readonly plate?: string;
  readonly grid?: string;
  readonly cathode?: string;
  readonly anode?: string;
  readonly from?: string;
  readonly to?: string;
  readonly ohm?: number;
}

interface Source {
  readonly level: string;
  readonly from?: string;
  readonly sourceV: number;
  readonly sourceOhm: number;
}

interface Output {
  readonly drive: string;
  readonly rail?: string;
  readonly line?: string;
  readonly net?: string;
  readonly to?: string;
  readonly loadOhm?: number;
  readonly sourceV?: number;
  readonly sourceOhm?: number;
  readonly released?: Source;
  readonly operated?: Source;
}

interface Channel {
  readonly rail?: string;
  readonly at?: string;
  readonly net?: string;
  readonly line?: string;
  readonly topOhm: number;
  readonly bottomOhm: number;
  readonly pullUpOhm?: number;
}

/** N. L. Koren, Glass Audio 8-5 (1996), parameters of the 12AU7 / ECC82; the grid as in his library. */
const PARAMETERS = ".param mu=21.5 ex=1.3 kg1=1180 kp=84 kvb=300 rgi=2000 corner=0.1";
const DIODE = ".model silicon D(IS=2.5n N=1.75 RS=0 TNOM=27)";
const CONTACT_OHM = 0.05;

const spiceNode = (name: string | undefined): string =>
  name === undefined || name === "common" ? "0" : name.toLowerCase();

export interface SpiceNetlist {
  readonly text: string;
  readonly nets: readonly string[];
}

export function netlistOf(board: string, stop: Stop): SpiceNetlist {
  const { parts } = parse(readShipped(board, "circuit.yaml")) as { parts: Part[] };
  const rig = parse(readShipped(board, "rig.yaml")) as {
    referenceV: number;
    outputs: Output[];
    channels: Channel[];
  };
  const { stages } = parse(readShipped(board, "board.yaml")) as {
    stages: Record<string, { output: string }>;
  };
  const nets = Object.values(stages).map(({ output }) => output);
  const lines = [
    `* ${board}, ${stop.step}`,
    PARAMETERS,
    DIODE,
    ...parts.flatMap(partLines),
    ...rig.outputs.flatMap((output) => outputLines(output, rig.outputs, stop)),
    `Vreference reference 0 ${rig.referenceV}`,
    ...rig.channels.flatMap((channel, index) => dividerLines(channel, index)),
    ...Object.entries(stop.expect).map(
      ([net, level]) => `.nodeset v(${spiceNode(net)})=${level === "high" ? 40 : 12}`,
    ),
    ".control",
    "op",
    ...nets.map((net) => `print v(${spiceNode(net)})`),
    "quit",
    ".endc",
    ".end",
    "",
  ];
  return { text: lines.join("\n"), nets };
}

function partLines(part: Part): string[] {
  const name = part.part.toLowerCase();
  if (part.kind === "resistor") {
    return [`R_${name} ${spiceNode(part.from)} ${spiceNode(part.to)} ${part.ohm}`];
  }
  if (part.kind === "diode") {
    return [`D_${name} ${spiceNode(part.anode)} ${spiceNode(part.cathode)} silicon`];
  }
  if (part.kind !== "triode") return [];
  const [plate, grid, cathode] = [part.plate, part.grid, part.cathode].map(spiceNode);
  const plateV = `max(v(${plate},${cathode}),0)`;
  const gridV = `v(${grid},${cathode})`;
  return [
    `B_${name}_plate ${plate} ${cathode} I=2*pow(${plateV}/kp*ln(1+exp(kp*(1/mu+${gridV}/sqrt(kvb+${plateV}*${plateV})))),ex)/kg1`,
    `B_${name}_grid ${grid} ${cathode} I=${gridV}>3 ? ${gridV}/rgi : corner*ln(1+exp(${gridV}/corner))/rgi`,
  ];
}

function outputLines(output: Output, outputs: readonly Output[], stop: Stop): string[] {
  if (output.drive === "relay") {
    const rail = spiceNode(output.rail);
    if (rail === "heater") return [];
    const ohm = (output.sourceOhm ?? 0) + CONTACT_OHM;
    return [
      `V_${rail} ${rail}_supply 0 ${output.sourceV}`,
      `R_${rail}_supply ${rail}_supply ${rail} ${ohm}`,
    ];
  }
  const line = spiceNode(output.line);
  const level = stop.lines[output.line ?? ""] ?? "low";
  if (output.drive === "load") {
    return level === "high"
      ? [`R_load_${line} ${spiceNode(output.net)} ${spiceNode(output.to)} ${output.loadOhm}`]
      : [];
  }
  return [output.released, output.operated].flatMap((source, index) => {
    if (source === undefined) return [];
    const closed = source.level === level;
    const node = closed ? line : `${line}_rest${index}`;
    if (source.from === undefined) {
      return closed
        ? [
            `V_${line} ${line}_source 0 ${source.sourceV}`,
            `R_${line} ${line}_source ${line} ${source.sourceOhm}`,
          ]
        : [];
    }
    const supply = outputs.find(({ rail }) => rail === source.from);
    const share = source.sourceV / (supply?.sourceV ?? Number.NaN);
    return [
      `R_${line}_top ${spiceNode(source.from)} ${node} ${source.sourceOhm / share}`,
      `R_${line}_bottom ${node} 0 ${source.sourceOhm / (1 - share)}`,
    ];
  });
}

function dividerLines(channel: Channel, index: number): string[] {
  if (channel.at === "source" || channel.rail === "heater") return [];
  const node = spiceNode(channel.rail ?? channel.net ?? channel.line);
  const pin = `pin${index}`;
  return [
    `R_${pin}_top ${node} ${pin} ${channel.topOhm}`,
    `R_${pin}_bottom ${pin} 0 ${channel.bottomOhm}`,
    ...(channel.pullUpOhm === undefined
      ? []
      : [`R_${pin}_up reference ${pin} ${channel.pullUpOhm}`]),
  ];
}
