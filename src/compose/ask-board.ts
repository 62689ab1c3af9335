/** `board.yaml` by question and answer. */
import { type Board, boardSchema } from "../formats/board.schema.ts";
import { lineField, nameField, voltsField } from "../formats/schema-parts.ts";
import { volts } from "../plan/divider-range.ts";
import { boardNames, RESERVED_NAMES } from "../plan/proof-documents.ts";
import { askCeilings, askRails, type Rails } from "./ask-rail.ts";
import { askStages } from "./ask-stages.ts";
import { ask, type Dialogue } from "./question.ts";
import {
  asNames,
  asOneOf,
  asQuantities,
  asQuantity,
  asText,
  asTextOrNone,
  holding,
} from "./readers.ts";

const { shape } = boardSchema;
type Loads = NonNullable<Board["loads"]>;

export interface BoardGiven {
  /** Name to offer, such as that of the folder; null where it is none a board can have. */
  readonly name: string | null;
}

/** A board, complete; whether it agrees with itself is for the checks of src/plan. */
export function* askBoard({ name }: BoardGiven): Dialogue<Board> {
  const board = yield* ask({
    about: "Name of the board",
    why: "The type, not the one on the bench: letters, digits, - and _. Rig and sequence repeat it.",
    byDefault: name,
    read: asText(shape.board),
  });
  const revision = yield* ask({
    about: "Its revision",
    byDefault: "A",
    read: asText(shape.revision),
  });
  const title = yield* ask({
    about: "What it is, in one line",
    byDefault: null,
    read: asText(shape.title),
  });
  const stages = yield* askStages();
  const loads = yield* askLoads(Object.values(stages));
  const rails = yield* askRails();
  const ceilings = yield* askCeilings(rails);
  const contract = yield* askContract(rails);
  const slowestTimeConstantMs = yield* ask({
    about: "Slowest time constant on the board",
    why: "What it takes longest to forget, such as a coupling capacitor. Holds outlast it; readings wait for it.",
    byDefault: "10 ms",
    read: asQuantity(shape.slowestTimeConstantMs, "ms"),
  });
  const heaterBeforePlateMs = yield* ask({
    about: "Heaters are on this long before plate",
    why: "Warm-up goes on after it, until every section was seen to conduct.",
    byDefault: "3 s",
    read: asQuantity(shape.heaterBeforePlateMs, "ms"),
  });
  const parts = {
    format: "holdfast-board" as const,
    version: 1 as const,
    board,
    revision,
    title,
    rails,
    ceilings,
    contract,
    slowestTimeConstantMs,
    heaterBeforePlateMs,
    stages,
    ...(Object.keys(loads).length > 0 && { loads }),
  };
  return { ...parts, connector: yield* askConnector(parts) };
}

function* askLoads(stages: readonly Board["stages"][string][]): Dialogue<Loads> {
  const nets = stages.map(({ output }) => output);
  const used = new Set([...nets, ...stages.flatMap(({ inputs }) => inputs), ...RESERVED_NAMES]);
  const loads = new Map<string, Loads[string]>();
  for (;;) {
    const name = yield* ask({
      about: loads.size === 0 ? "Name of a load the board must bear" : "Name of a further load",
      why: "Such as LAMP: a lamp driver or the next board, which the rig connects by a contact. An empty line when there is none.",
      byDefault: "",
      read: holding(asTextOrNone(nameField("")), (text) => {
        if (text === null) return null;
        return loads.has(text) || used.has(text) ? "expected a name that is not used yet" : null;
      }),
    });
    if (name === null) return Object.fromEntries(loads);
    const net = yield* ask({
      about: `Net that ${name} hangs on`,
      byDefault: nets.at(-1) ?? null,
      read: asOneOf(nets),
    });
    const description = yield* ask({
      about: `What ${name} stands for`,
      byDefault: "",
      read: asTextOrNone(lineField("")),
    });
    loads.set(name, { net, ...(description !== null && { description }) });
  }
}

/** Levels of the shipped rack, true for its plate loads, coupling and grid returns only. */
const RACK = { plateV: 48, biasV: -24, levels: "14.5 18.5 31.5 34.5" };

function* askContract({ plate, bias }: Rails): Dialogue<Board["contract"]> {
  const isRack = plate.nominalV === RACK.plateV && bias?.nominalV === RACK.biasV;
  const rack = isRack
    ? " What is offered is the shipped rack's: 47 k plate loads, 510 k to the grid, 430 k to bias."
    : " They come from your design: a level taken from a reading would judge itself.";
  const topV = plate.windowV[0];
  const levels = yield* ask({
    about: "Level contract: VOL VIL VIH VOH",
    why: `A low is sent at or below VOL and taken at or below VIL; a high taken at or above VIH, sent at or above VOH.${rack}`,
    byDefault: isRack ? RACK.levels : null,
    read: holding(asQuantities(4, "V", "VOL VIL VIH VOH"), (values) => {
      const [vol = 0, vil = 0, vih = 0, voh = 0] = values;
      if (!(vol <= vil && vil < vih && vih <= voh)) return "expected VOL <= VIL < VIH <= VOH";
      if (values.some((value) => !voltsField("").safeParse(value).success)) {
        return "expected fewer volts";
      }
      return voh < topV ? null : `expected VOH below ${volts(topV)}, the low end of plate`;
    }),
  });
  const [volV = 0, vilV = 0, vihV = 0, vohV = 0] = levels;
  return { volV, vilV, vihV, vohV };
}

const PINS_MAX = 99;

/** Every rail, common, input, output and load on a pin of its own is offered. */
function* askConnector(board: Omit<Board, "connector">): Dialogue<Board["connector"]> {
  const stages = Object.values(board.stages);
  const outputs = stages.map(({ output }) => output);
  const inputs = stages.flatMap((stage) => stage.inputs).filter((name) => !outputs.includes(name));
  const rails = ["plate", ...(board.rails.bias ? ["bias"] : []), "common", "heater"];
  const all = [...new Set([...rails, ...inputs, ...outputs, ...Object.keys(board.loads ?? {})])];
  const names = yield* ask({
    about: "What is on the pins, from pin 1",
    why: "Apart by spaces, in the order of the pins. Pins of other names can be written in the file.",
    byDefault: all.join(" "),
    read: holding(asNames(nameField(""), all, rails.length), (given) => {
      if (given.length > PINS_MAX) return `expected at most ${PINS_MAX} pins`;
      const missing = [...rails, ...inputs].find((name) => !given.includes(name));
      return missing === undefined ? null : `expected a pin for ${missing}`;
    }),
  });
  return Object.fromEntries(names.map((name, index) => [String(index + 1), name]));
}

/** Input lines of a board in the order in which its stages take them. */
export function inputLinesOf(board: Board): string[] {
  const { inputLines } = boardNames(board);
  const taken = Object.values(board.stages).flatMap(({ inputs }) => inputs);
  return [...new Set(taken)].filter((name) => inputLines.has(name));
}
