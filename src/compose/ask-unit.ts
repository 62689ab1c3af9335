/** `unit.yaml` by question and answer, with the board's file at hand. */
import type { Board } from "../formats/board.schema.ts";
import { type Unit, unitSchema } from "../formats/unit.schema.ts";
import { ask, type Dialogue } from "./question.ts";
import { asText, asTextOrNone } from "./readers.ts";

const { shape } = unitSchema;
const tube = shape.tubes.valueType.shape;
const cold = shape.coldChecks.element.shape;

type ColdCheck = Unit["coldChecks"][number];

export interface UnitGiven {
  readonly board: Board;
  /** The day it is, such as 2026-05-01, offered as the date of the checks. */
  readonly today: string;
}

/** One unit of that board. */
export function* askUnit({ board, today }: UnitGiven): Dialogue<Unit> {
  const unit = yield* ask({
    about: "Serial of this one board",
    why: "What tells it from its sisters, as written on it.",
    byDefault: null,
    read: asText(shape.unit),
  });
  const tubes = new Map<string, Unit["tubes"][string]>();
  for (const [position, type] of socketsOf(board)) {
    tubes.set(position, yield* askTube(position, type));
  }
  const coldChecks = yield* askColdChecks(board, today);
  return {
    format: "holdfast-unit",
    version: 1,
    unit,
    board: board.board,
    revision: board.revision,
    tubes: Object.fromEntries(tubes),
    coldChecks,
  };
}

function* askTube(position: string, type: string | null): Dialogue<Unit["tubes"][string]> {
  const which = yield* ask({
    about: `Type of the tube in ${position}`,
    byDefault: type,
    read: asText(tube.tube),
  });
  const serial = yield* ask({
    about: `Its mark in ${position}`,
    why: "What tells this tube from another; a label of your own will do. An empty line if it has none.",
    byDefault: "",
    read: asTextOrNone(lineOf(tube.serial)),
  });
  const note = yield* ask({
    about: `Anything worth knowing of the tube in ${position}`,
    byDefault: "",
    read: asTextOrNone(tube.note.unwrap()),
  });
  return { tube: which, ...(serial !== null && { serial }), ...(note !== null && { note }) };
}

/** Common practice before the first power: board unplugged, no supply connected, a meter on ohms. */
function usualChecks(board: Board): Pick<ColdCheck, "check" | "expect">[] {
  const bias = [
    { check: "bias rail to common", expect: "what its bleeder makes, and no short" },
    { check: "plate rail to bias rail", expect: "no short" },
  ];
  return [
    { check: "plate rail to common", expect: "what its bleeder makes, and no short" },
    ...(board.rails.bias === undefined ? [] : bias),
    { check: "heater pins", expect: "a few ohms for each tube, less than when hot" },
    { check: "heater to common with the heater lead off", expect: "open" },
    { check: "diodes each way", expect: "conduct one way only" },
    { check: "electrolytic capacitors", expect: "polarity as printed on the board" },
  ];
}

function* askColdChecks(board: Board, today: string): Dialogue<ColdCheck[]> {
  const by = yield* ask({
    about: "Initials of who does the cold checks",
    why: "Board unplugged, no supply connected, capacitors discharged, a meter on ohms. An empty line leaves all checks blank, for later.",
    byDefault: "",
    read: asTextOrNone(lineOf(cold.by)),
  });
  const usual = usualChecks(board);
  if (by === null) return usual;
  const date = yield* ask({
    about: "Day of the cold checks",
    byDefault: today,
    read: asText(cold.date.unwrap()),
  });
  const done: ColdCheck[] = [];
  for (const one of usual) {
    const value = yield* ask({
      about: `Cold check: ${one.check}`,
      why: `Expected: ${one.expect}. What did the meter show? An empty line leaves it blank; a run says so before it energises.`,
      byDefault: "",
      read: asTextOrNone(lineOf(cold.value)),
    });
    done.push(value === null ? one : { ...one, value, by, date });
  }
  return done;
}

/** The text inside a field that may be left blank. */
function lineOf(field: typeof cold.by) {
  return field.unwrap().unwrap();
}

/** Sockets of a board, with the type its stages name first. */
function socketsOf(board: Board): Map<string, string | null> {
  const sockets = new Map<string, string | null>();
  for (const { position, tube: type } of Object.values(board.stages)) {
    if (position === undefined) continue;
    sockets.set(position, sockets.get(position) ?? type ?? null);
  }
  return sockets;
}
