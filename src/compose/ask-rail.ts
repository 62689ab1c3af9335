/** Questions about one supply of a board. */
import type { RailName } from "../events/levels.ts";
import { type Board, boardSchema } from "../formats/board.schema.ts";
import { positiveVoltsField, voltsField, waitMsField } from "../formats/schema-parts.ts";
import { volts } from "../plan/divider-range.ts";
import { ask, type Dialogue } from "./question.ts";
import { asQuantities, asQuantity, asYesOrNo, holding } from "./readers.ts";

export type Rails = Board["rails"];
type Rail = Rails["plate"];

/**
 * What is offered for a rail. Volts, rise and fall are those of the shipped rack; windows of 5 % for
 * heater and plate are common practice, the wider one for bias allows for the resistor before it.
 */
const OFFERED: Readonly<
  Record<
    RailName,
    { nominal: string; window: number; safeV: number; riseMs: number; fallMs: number }
  >
> = {
  heater: { nominal: "12.6", window: 0.05, safeV: 2, riseMs: 1000, fallMs: 1500 },
  bias: { nominal: "-24", window: 0.08, safeV: 2, riseMs: 500, fallMs: 14_000 },
  plate: { nominal: "48", window: 0.05, safeV: 10, riseMs: 500, fallMs: 1500 },
};

const CEILING_SHARE = 1.15;

const NOMINAL_WHY: Readonly<Record<RailName, string>> = {
  heater: "Halves of an ECC82 in series take 12.6 V, in parallel 6.3 V. See the tube's data sheet.",
  bias: "Negative to common. It comes before plate and outlasts it.",
  plate:
    "Positive to common. Live plate is the one that hurts: keep it as low as the board allows.",
};

/** Heater, bias if there is one, and plate. */
export function* askRails(): Dialogue<Rails> {
  const heater = yield* askRail("heater");
  const hasBias = yield* ask({
    about: "Has the board a bias rail?",
    why: "A negative supply that holds grids down. Without one, the word is left out of the file.",
    byDefault: "yes",
    read: asYesOrNo,
  });
  const bias = hasBias ? yield* askRail("bias") : undefined;
  const plate = yield* askRail("plate");
  return { heater, ...(bias && { bias }), plate };
}

function* askRail(rail: RailName): Dialogue<Rail> {
  const { nominal, window, safeV, riseMs, fallMs } = OFFERED[rail];
  const sign = rail === "bias" ? -1 : 1;
  const nominalV = yield* ask({
    about: `Volts of the ${rail} rail`,
    why: NOMINAL_WHY[rail],
    byDefault: nominal,
    read: holding(asQuantity(voltsField(""), "V"), (value) =>
      value * sign > 0 ? null : `expected ${sign < 0 ? "a negative" : "a positive"} value`,
    ),
  });
  const ends = [nominalV * (1 - window), nominalV * (1 + window)].sort((a, b) => a - b);
  const windowV = yield* ask({
    about: `Window of the ${rail} rail`,
    why: "Lower and upper end of what the board may run on, lower first. A run stops outside it.",
    byDefault: ends.map((end) => Number(end.toPrecision(3))).join(" "),
    read: holding(asQuantities(2, "V", "lower end, upper end"), ([lowV = 0, highV = 0]) => {
      if (lowV >= highV) return "expected the lower end first";
      if (lowV * highV <= 0) return "expected both ends on one side of 0 V";
      if (nominalV >= lowV && nominalV <= highV) return null;
      return `expected ${volts(nominalV)} inside it`;
    }),
  });
  const [lowV = 0, highV = 0] = windowV;
  const farV = sign < 0 ? lowV : highV;
  const nearV = Math.min(Math.abs(lowV), Math.abs(highV));
  const ceilingV = yield* ask({
    about: `Ceiling of the ${rail} rail`,
    why: "Never to be exceeded: tubes, capacitors and connector must bear it. The controller trips here by itself.",
    byDefault: String(Number((nominalV * CEILING_SHARE).toPrecision(2))),
    read: holding(asQuantity(voltsField(""), "V"), (value) =>
      value * sign > 0 && Math.abs(value) > Math.abs(farV)
        ? null
        : `expected it beyond the window, which ends at ${volts(farV)}`,
    ),
  });
  const off = yield* ask({
    about: `The ${rail} rail counts as off at or below`,
    why: "A magnitude. What is above it after the fall is said to be unproved, and blocks the rig.",
    byDefault: String(Math.min(safeV, Number((nearV / 3).toPrecision(2)))),
    read: holding(asQuantity(positiveVoltsField(""), "V"), (value) =>
      value < nearV ? null : `expected less than ${volts(nearV)}, where the window begins`,
    ),
  });
  const rise = yield* ask({
    about: `The ${rail} rail rises within`,
    why: "From switch-on until the board side is inside the window.",
    byDefault: `${riseMs} ms`,
    read: asQuantity(waitMsField(""), "ms"),
  });
  const fall = yield* ask({
    about: `The ${rail} rail falls within`,
    why: "From switch-off until it counts as off. Reservoir and bleeder decide: about three of their time constants.",
    byDefault: `${fallMs} ms`,
    read: asQuantity(waitMsField(""), "ms"),
  });
  return { nominalV, windowV: [lowV, highV], ceilingV, safeV: off, riseMs: rise, fallMs: fall };
}

/** Limits that involve two points, offered so that the ceilings of the rails fit. */
export function* askCeilings({ heater, bias, plate }: Rails): Dialogue<Board["ceilings"]> {
  const shape = boardSchema.shape.ceilings.shape;
  const apartV = Math.max(
    plate.ceilingV - (bias?.ceilingV ?? 0),
    heater.ceilingV - (bias?.ceilingV ?? 0),
  );
  const betweenRailsV = yield* ask({
    about: "Most volts ever between two rails",
    why: `Rails add: their ceilings are ${volts(apartV)} apart. Connector and parts must bear it.`,
    byDefault: String(Math.ceil(apartV)),
    read: holding(asQuantity(shape.betweenRailsV, "V"), (value) =>
      value >= apartV ? null : `expected ${volts(apartV)} or more, or lower ceilings`,
    ),
  });
  const heaterToCathodeV = yield* ask({
    about: "Most volts ever between a heater and its cathode",
    why: "From the tube's data sheet, with room to spare. 90 V is the shipped boards' limit for an ECC82.",
    byDefault: String(Math.max(90, Math.ceil(heater.ceilingV))),
    read: holding(asQuantity(shape.heaterToCathodeV, "V"), (value) =>
      value >= heater.ceilingV ? null : `expected ${volts(heater.ceilingV)} or more`,
    ),
  });
  return { betweenRailsV, heaterToCathodeV };
}
