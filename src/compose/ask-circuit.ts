/**
 * `circuit.yaml` by question and answer: every stage as the shipped rack builds it. Diodes OR the
 * inputs into a node, a resistor leads to the grid, another from there to bias, a third to plate.
 */
import tubes from "../../shared/tubes.json" with { type: "json" };
import type { Board } from "../formats/board.schema.ts";
import type { Circuit, CircuitPart } from "../formats/circuit.schema.ts";
import { ohmField, titleNameField } from "../formats/schema-parts.ts";
import { ask, type Dialogue } from "./question.ts";
import { asQuantity, asText } from "./readers.ts";

export interface CircuitGiven {
  readonly board: Board;
}

type Heater = (typeof tubes.types)["ECC82"]["heater"];

/** A type the simulation has constants for, by any of its names; null for one it has not. */
function heaterOf(type: string | undefined): Heater | null {
  const found = Object.entries(tubes.types).find(
    ([name, { alike }]) => name === type || alike.some((other) => other === type),
  );
  return found?.[1].heater ?? null;
}

/** Heater volts may be this far from what the tubes are made for before the wiring is in doubt. */
const HEATER_SHARE = 0.15;

/** Why no circuit can be made for this board; null when one can. */
export function circuitRefusal(board: Board): string | null {
  if (board.rails.bias === undefined)
    return "its grids return to a bias rail, and the board has none";
  for (const [name, stage] of Object.entries(board.stages)) {
    if (stage.type !== "nor" && stage.type !== "not") {
      return `stage ${name} is a ${stage.type}, only nor and not can be made`;
    }
    const heater = heaterOf(stage.tube);
    if (heater === null) {
      return `there are no constants for the tube of ${name}, only for ${Object.keys(tubes.types).join(", ")}`;
    }
    if (stage.position === undefined) {
      return `stage ${name} has no tube, and only tube sections can be made`;
    }
    if (stage.section !== "a" && stage.section !== "b") {
      return `stage ${name} has section ${stage.section}, only a or b can be made`;
    }
    if (halvesFor(board, heater) === null) {
      return `the heater rail is ${board.rails.heater.nominalV} V, halves of ${heater.sectionV} V fit neither side by side nor in series`;
    }
  }
  return null;
}

function halvesFor(board: Board, { sectionV }: Heater): "parallel" | "series" | null {
  const near = (wantedV: number) =>
    Math.abs(board.rails.heater.nominalV - wantedV) <= HEATER_SHARE * wantedV;
  if (near(2 * sectionV)) return "series";
  return near(sectionV) ? "parallel" : null;
}

/**
 * The parts of that board.
 *
 * @throws RangeError for a board that circuitRefusal refuses
 */
export function* askCircuit({ board }: CircuitGiven): Dialogue<Circuit> {
  const refusal = circuitRefusal(board);
  if (refusal !== null) throw new RangeError(refusal);
  const circuit = yield* ask({
    about: "Name of the circuit",
    byDefault: board.board,
    read: asText(titleNameField("")),
  });
  const values = {
    load: yield* askOhm("Plate load of every stage", "From the plate rail to the plate.", "47k"),
    coupling: yield* askOhm("Resistor to every grid", "From the diodes to the grid.", "510k"),
    grid: yield* askOhm("Grid return of every stage", "From the grid to bias.", "430k"),
  };
  return {
    format: "holdfast-circuit",
    version: 1,
    circuit,
    parts: [...heaterParts(board), ...stageParts(board, values), ...RESERVOIRS],
  };
}

function askOhm(about: string, why: string, byDefault: string): Dialogue<number> {
  return ask({ about, why, byDefault, read: asQuantity(ohmField(""), "ohm") });
}

function heaterParts(board: Board): CircuitPart[] {
  const sockets = new Map(
    sectionStages(board).map(({ position, tube }) => [position, heaterOf(tube)]),
  );
  return [...sockets].flatMap(([socket, heater], index) => {
    if (heater === null) return [];
    const { sectionV, sectionA } = heater;
    const middle = `HM${index + 1}`;
    const series = halvesFor(board, heater) === "series";
    const half = (section: string, from: string, to: string): CircuitPart => ({
      part: heaterName(socket, section),
      kind: "heater",
      from,
      to,
      hotOhm: Number((sectionV / sectionA).toPrecision(4)),
      ratedW: Number((sectionV * sectionA).toPrecision(4)),
    });
    return [
      half("a", "heater", series ? middle : "common"),
      half("b", series ? middle : "heater", "common"),
    ];
  });
}

type SectionStage = Board["stages"][string] & {
  readonly position: string;
  readonly section: string;
};

/** Stages that are tube sections; `circuitRefusal` has seen to it that all are. */
function sectionStages(board: Board): SectionStage[] {
  return Object.values(board.stages).flatMap((stage) => {
    const { position, section } = stage;
    return position === undefined || section === undefined ? [] : [{ ...stage, position, section }];
  });
}

function heaterName(socket: string, section: string): string {
  // Names have 24 letters at most, and the socket's may have them all.
  return `H${socket.slice(0, 22)}${section}`;
}

function stageParts(
  board: Board,
  ohm: { readonly load: number; readonly coupling: number; readonly grid: number },
): CircuitPart[] {
  const nets = new Set(Object.values(board.stages).map(({ output }) => output));
  const loaded = new Set<string>();
  let diodes = 0;
  return sectionStages(board).flatMap((stage, index): CircuitPart[] => {
    const isFirstOfPlate = !loaded.has(stage.output);
    loaded.add(stage.output);
    const number = index + 1;
    const node = `N${number}in`;
    const grid = `G${number}in`;
    const first = 3 * index + 1;
    const resistor = (offset: number, from: string, to: string) => ({
      part: `R${first + offset}`,
      kind: "resistor" as const,
      from,
      to,
    });
    return [
      {
        part: `${stage.position.slice(0, 23)}${stage.section}`,
        kind: "triode",
        tube: stage.tube ?? "",
        plate: stage.output,
        grid,
        cathode: "common",
        heater: heaterName(stage.position, stage.section),
      },
      // Sections that share a plate share its load.
      ...(isFirstOfPlate
        ? [
            {
              ...resistor(0, "plate", stage.output),
              ohm: ohm.load,
              use: "plate load" as const,
            },
          ]
        : []),
      ...stage.inputs.map((input): CircuitPart => {
        diodes += 1;
        const use = nets.has(input) ? "feedback" : "input";
        return { part: `D${diodes}`, kind: "diode", anode: input, cathode: node, use };
      }),
      { ...resistor(1, node, grid), ohm: ohm.coupling, use: "coupling" },
      { ...resistor(2, grid, "bias"), ohm: ohm.grid, use: "grid return" },
      { part: `C${number}`, kind: "capacitor", from: stage.output, to: "common", farad: 1e-10 },
    ];
  });
}

/** Reservoirs and bleeders of the shipped boards: bias outlasts plate when both are let go. */
const RESERVOIRS: readonly CircuitPart[] = [
  { part: "CH", kind: "capacitor", from: "heater", to: "common", farad: 1e-3 },
  { part: "CB", kind: "capacitor", from: "bias", to: "common", farad: 2.2e-4 },
  { part: "RB", kind: "resistor", from: "bias", to: "common", ohm: 22_000, use: "bleeder" },
  { part: "CP", kind: "capacitor", from: "plate", to: "common", farad: 1.5e-5 },
  { part: "RP", kind: "resistor", from: "plate", to: "common", ohm: 10_000, use: "bleeder" },
];
