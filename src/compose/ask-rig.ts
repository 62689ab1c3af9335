/** `rig.yaml` by question and answer, with the board's file at hand. */
import type { RailName } from "../events/levels.ts";
import type { Board } from "../formats/board.schema.ts";
import { type Rig, type RigChannel, type RigOutput, rigSchema } from "../formats/rig.schema.ts";
import {
  lineField,
  ohmField,
  positiveVoltsField,
  titleNameField,
} from "../formats/schema-parts.ts";
import { volts } from "../plan/divider-range.ts";
import { FIXED_RAIL_WIRING, LINE_OUTPUTS, NET_CHANNELS } from "../plan/fixed-wiring.ts";
import { boardNames, boardRails } from "../plan/proof-documents.ts";
import { askDivider, type RigDivider } from "./ask-divider.ts";
import { askLines } from "./ask-lines.ts";
import { type Answer, ask, type Dialogue } from "./question.ts";
import { asNames, asOneOf, asQuantities, asQuantity, asText, holding } from "./readers.ts";

const { shape } = rigSchema;

export interface RigGiven {
  readonly board: Board;
}

/** Heating current that one supply resistor is offered for, in tubes. */
const FEW_TUBES = 2;

/** A rig for that board. */
export function* askRig({ board }: RigGiven): Dialogue<Rig> {
  const rig = yield* ask({
    about: "Name of the rig",
    why: "One bench with its wiring. What is left unproved is remembered by this name.",
    byDefault: "bench-1",
    read: asText(titleNameField("")),
  });
  const bench = yield* askBench();
  const referenceV = yield* ask({
    about: "Converter reference",
    why: "Volts at the controller's reference pin; measure it.",
    byDefault: "5",
    read: asQuantity(shape.referenceV, "V"),
  });
  const most = Math.max(...boardRails(board).map(({ limits }) => Math.abs(limits.ceilingV)));
  const contactDcV = yield* ask({
    about: "DC rating of the relay contacts",
    why: "From the relay's data sheet, for direct current: the AC figure on the case says nothing about it.",
    // A rating that nobody looked up must not stand in the file of a real bench.
    byDefault: bench.kind === "emulated" ? String(Math.max(110, Math.ceil(most))) : null,
    read: holding(asQuantity(positiveVoltsField(""), "V"), (value) =>
      value >= most ? null : `expected ${volts(most)} or more, the highest ceiling of the board`,
    ),
  });
  const samples = yield* ask({
    about: "Conversions summed for one reading",
    byDefault: "16",
    read: asQuantity(shape.samples, "none"),
  });
  const outputs: RigOutput[] = [];
  const channels: RigChannel[] = [];
  for (const { rail, limits } of boardRails(board)) {
    outputs.push(yield* askSupply(rail, board));
    const must = { lowV: Math.min(0, limits.ceilingV), highV: Math.max(0, limits.ceilingV) };
    const divider = yield* askDivider(`the ${rail} rail, before and behind its relay`, {
      must,
      referenceV,
      offered: { capacitorNf: 10 },
    });
    for (const at of ["source", "board"] as const) {
      channels.push({ channel: FIXED_RAIL_WIRING[rail][at], rail, at, ...divider });
    }
  }
  outputs.push(...(yield* askLines(board, LINE_OUTPUTS)));
  const driven = outputs.flatMap((output) => (output.drive === "changeover" ? [output] : []));
  const sources = driven.flatMap(({ released, operated }) => [released.sourceV, operated.sourceV]);
  const nets = yield* askNets(board, NET_CHANNELS.last - NET_CHANNELS.first + 1 - driven.length);
  const divider = yield* askDivider("nets and lines", {
    must: {
      lowV: Math.min(0, ...sources),
      highV: Math.max(board.rails.plate.windowV[1], ...sources),
    },
    referenceV,
    offered: { bottomOhm: 100_000, capacitorNf: 33 },
  });
  channels.push(
    ...netChannels(
      nets,
      driven.map(({ line }) => line),
      divider,
    ),
  );
  const resistorPercent = yield* askTolerance(bench);
  return {
    format: "holdfast-rig",
    version: 1,
    rig,
    board: board.board,
    bench,
    referenceV,
    contactDcV,
    samples,
    outputs,
    channels,
    ...(resistorPercent === null
      ? {}
      : { accuracy: { resistorPercent, referencePercent: UNMEASURED_REFERENCE_PERCENT } }),
  };
}

/** A USB port gives 4.40 to 5.25 V (USB 2.0, 7.2.2); one that was measured once may go so far. */
const UNMEASURED_REFERENCE_PERCENT = 5;

/** Null where nobody knows. */
function* askTolerance(bench: Rig["bench"]): Dialogue<number | null> {
  return yield* ask<number | null>({
    about: "Tolerance of the divider resistors, in percent",
    why: "As printed on them. Readings then have an uncertainty and the limits are guarded by it; `unknown`, and they have none.",
    // As with the relay contacts: what nobody looked up must not stand in the file of a real bench.
    byDefault: bench.kind === "emulated" ? "1" : "unknown",
    read: asPercentOrUnknown,
  });
}

function asPercentOrUnknown(text: string): Answer<number | null> {
  if (/^unknown$/i.test(text)) return { ok: true, value: null };
  const percent = asQuantity(shape.accuracy.unwrap().shape.resistorPercent, "none");
  const answer = percent(text.replace(/\s*%$/, ""));
  return answer.ok ? answer : { ok: false, why: `${answer.why}, such as 1, or unknown` };
}

function* askBench(): Dialogue<Rig["bench"]> {
  const kind = yield* ask({
    about: "What is behind the rig, emulated or port?",
    why: "emulated: the firmware in an emulator, wired to the circuit file. port: a controller on a serial port. --port makes the one of the other for a run.",
    byDefault: "emulated",
    read: asOneOf(["emulated", "port"]),
  });
  if (kind === "emulated") {
    const circuit = yield* ask({
      about: "Circuit file beside the rig file",
      why: "The parts of the simulated board; `write circuit` makes one for boards of NOR and NOT stages.",
      byDefault: "circuit.yaml",
      read: holding(asText(lineField("", 100)), (name) =>
        /[/\\]/.test(name) ? "expected a file name without a folder" : null,
      ),
    });
    return { kind, circuit };
  }
  const port = yield* ask({
    about: "Serial port",
    byDefault: "/dev/ttyUSB0",
    read: asText(lineField("", 200)),
  });
  return { kind, port };
}

function* askSupply(rail: RailName, board: Board): Dialogue<RigOutput> {
  const limits = boardRails(board).find((one) => one.rail === rail)?.limits;
  if (limits === undefined) throw new RangeError(`the board has no ${rail} rail`);
  const [lowV, highV] = limits.windowV;
  const tubes = new Set(Object.values(board.stages).flatMap(({ position }) => position ?? [])).size;
  const ohm = { heater: tubes > FEW_TUBES ? 0.1 : 0.5, bias: 22, plate: 47 }[rail];
  const values = yield* ask({
    about: `Supply of the ${rail} rail: volts and resistance to the board`,
    why: `The board takes ${volts(lowV)} to ${volts(highV)}. The resistor limits what a short can draw; fuse it as well.`,
    byDefault: `${limits.nominalV} ${ohm}`,
    read: holding(asQuantities(2, "ohm", "volts, ohms"), ([sourceV = 0, sourceOhm = 0]) => {
      if (sourceV < lowV || sourceV > highV) return `expected ${volts(lowV)} to ${volts(highV)}`;
      return ohmField("").safeParse(sourceOhm).success ? null : "expected ohms above 0";
    }),
  });
  const [sourceV = 0, sourceOhm = 0] = values;
  return { output: FIXED_RAIL_WIRING[rail].output, rail, drive: "relay", sourceV, sourceOhm };
}

function* askNets(board: Board, room: number): Dialogue<string[]> {
  const { nets } = boardNames(board);
  const all = [...nets];
  return yield* ask({
    about: "Nets to read",
    why: `Apart by spaces; the board has ${all.join(", ")}. What is not read is not proved. There is room for ${room}.`,
    byDefault: all.slice(0, room).join(" "),
    read: holding(asNames(shape.board, all), (names) =>
      names.length > room ? `expected at most ${room}` : null,
    ),
  });
}

function netChannels(
  nets: readonly string[],
  lines: readonly string[],
  divider: RigDivider,
): RigChannel[] {
  return [
    ...nets.map((net, index) => ({ channel: NET_CHANNELS.first + index, net, ...divider })),
    ...lines.map((line, index) => ({
      channel: NET_CHANNELS.first + nets.length + index,
      line,
      ...divider,
    })),
  ];
}
