/** `holdfast-board`: what a type of board is and what it may never be given. */
import { z } from "zod";
import { type LoadResult, loadDocument } from "./load-document.ts";
import {
  lineField,
  nameField,
  netListField,
  ohmField,
  positiveVoltsField,
  textField,
  titleNameField,
  voltsField,
  waitMsField,
} from "./schema-parts.ts";

const windowField = z
  .tuple([voltsField("Lower end."), voltsField("Upper end.")])
  .describe("Lower and upper end of the volts the board may run on, signed, lower first.");

const railSchema = (rail: string) =>
  z
    .strictObject({
      nominalV: voltsField(`Volts the ${rail} rail is meant to have, signed.`),
      windowV: windowField,
      ceilingV: voltsField("Absolute limit, same sign as nominalV; nothing may ever go beyond."),
      safeV: positiveVoltsField("Magnitude at or below which the rail counts as off."),
      riseMs: waitMsField("Longest time from switch-on to the board side inside the window."),
      currentMa: z
        .tuple([z.number().min(0).max(100_000), z.number().positive().max(100_000)])
        .describe("Least and most current once the rail is up, milliamperes; watched by a shunt.")
        .optional(),
      supply: z
        .enum(["dc", "ac"])
        .describe("What feeds it; only dc can be watched by this controller.")
        .optional(),
      fallMs: waitMsField("Longest time from switch-off to the board side at or below safeV."),
    })
    .describe(`The ${rail} rail.`);

const partField = (about: string) => nameField(`${about} By its name on the drawing, such as R1.`);

const stagePartsSchema = z
  .strictObject({
    inputs: z
      .record(nameField("Input of the stage."), partField("Part through which the input comes."))
      .describe("Part that feeds each input, such as its diode, or its resistor where it has none.")
      .optional(),
    load: partField("Plate load.").optional(),
    coupling: partField("Resistor from the inputs to the grid.").optional(),
    gridReturn: partField("Resistor from the grid to bias.").optional(),
    section: z
      .union([
        partField("Tube section."),
        z.array(partField("Tube section.")).min(2).max(4).describe("Sections of one shared plate."),
      ])
      .describe("Tube section, or the sections that share one plate.")
      .optional(),
  })
  .describe("Parts of the stage, so that a fault can be named by its part.");

const stageSchema = z
  .strictObject({
    type: nameField(
      "Kind of stage. The logic of these is known: nor, nand, not, and, or, buf, xor, xnor, and without a tube diode-and, diode-or, wired-and, wired-or. Another, such as follower, is proved by what is read, and its net is unknown to the model.",
    ),
    tube: lineField("Tube or part type, such as ECC82.", 24).optional(),
    position: nameField(
      "Socket on the board, such as V1; left out for a gate without a tube.",
    ).optional(),
    section: z
      .string()
      .regex(/^[a-z0-9]{1,4}$/, "one to four small letters or digits, such as a, b or ab")
      .describe(
        "Section of the tube, such as a; both sections of one shared plate: ab. Left out for a gate without a tube.",
      )
      .optional(),
    inputs: netListField("Nets or lines this stage takes.").min(1),
    output: nameField("Net this stage drives; its own, unless it shares a plate."),
    sharesPlate: z
      .boolean()
      .describe(
        "Whether another section's plate is on the same net: the net is low when either pulls. Every stage of such a net but the first says so.",
      )
      .optional(),
    slow: z
      .literal(true)
      .describe(
        "A capacitor holds it back on purpose: it moves only after every other stage has settled.",
      )
      .optional(),
    parts: stagePartsSchema.optional(),
  })
  .describe("One stage of the board.");

const loadSchema = z
  .strictObject({
    net: nameField("Net the load hangs on."),
    description: lineField("What the load stands for.").optional(),
  })
  .describe("A load the board must be able to bear.");

const sourceSchema = z
  .strictObject({
    lowOhm: ohmField("Source resistance of the net while it is low."),
    highOhm: ohmField("Source resistance of the net while it is high."),
    percent: z.number().min(0).max(100).describe("How far both may be off. Percent, either way."),
  })
  .describe("What a net's level stands behind: a divider pulls it by so much.");

export const boardSchema = z
  .strictObject({
    format: z.literal("holdfast-board").describe("Name of this format."),
    version: z.literal(1).describe("Version of this format."),
    board: titleNameField("Name of the board type; rig and sequence files repeat it."),
    revision: titleNameField("Revision of the board type."),
    title: lineField("One line that says what the board is."),
    rails: z
      .strictObject({
        heater: railSchema("heater"),
        bias: railSchema("bias").optional(),
        plate: railSchema("plate"),
      })
      .describe("Supplies, raised in the order heater, bias, plate. Bias may be left out."),
    ceilings: z
      .strictObject({
        betweenRailsV: positiveVoltsField("Most volts ever between any two rails."),
        heaterToCathodeV: positiveVoltsField("Most volts ever between a heater and its cathode."),
      })
      .describe("Absolute limits that involve two points, magnitudes."),
    cathodesV: z
      .tuple([voltsField("Lowest cathode."), voltsField("Highest cathode.")])
      .describe("Lowest and highest cathode volts to common; left out when cathodes are at common.")
      .optional(),
    contract: z
      .strictObject({
        volV: voltsField("A low is sent at or below this (VOL)."),
        vilV: voltsField("A low is received at or below this (VIL)."),
        vihV: voltsField("A high is received at or above this (VIH)."),
        vohV: voltsField("A high is sent at or above this (VOH)."),
      })
      .describe("Level contract: volV <= vilV < vihV <= vohV."),
    rule: z
      .enum(["guarded", "simple"])
      .describe(
        "How a reading is held to the contract: guarded by its uncertainty, or simple. Left out: guarded where the rig's uncertainty is evaluated.",
      )
      .optional(),
    sources: z
      .record(nameField("Net of the board."), sourceSchema)
      .describe("Source resistances, for the loading by what reads the net.")
      .optional(),
    steadyLines: z
      .array(nameField("Input line of the board."))
      .max(64)
      .describe(
        "Input lines that a part of the board, such as a capacitor, carries through the bounce of a contact.",
      )
      .optional(),
    slowestTimeConstantMs: waitMsField("Slowest time constant on the board; holds outlast it."),
    heaterBeforePlateMs: waitMsField("Least time the heaters are on before plate is switched."),
    stages: z
      .record(nameField("Name of the stage."), stageSchema)
      .refine((stages) => Object.keys(stages).length > 0, "expected at least one stage")
      .meta({ minProperties: 1 })
      .describe("Stages by name."),
    nets: z
      .record(nameField("Name of the net."), lineField("What the net is."))
      .describe("Further nets that can be measured and are no stage's output.")
      .optional(),
    loads: z
      .record(nameField("Name of the load, a line in the rig."), loadSchema)
      .describe("Loads by name.")
      .optional(),
    connector: z
      .record(
        z
          .string()
          .regex(/^[A-Za-z0-9]{1,8}$/, "letters or digits, at most 8")
          .describe("Pin."),
        nameField("Rail, common, line, net or load on the pin."),
      )
      .describe("What is on each pin. A name that is nothing else is an input line."),
    notes: textField("Design notes: how the values were chosen.").optional(),
  })
  .describe("A type of board: supplies, limits, level contract, stages, loads and connector.");

export type Board = z.infer<typeof boardSchema>;

/** Board file text to a board, or every problem in it. */
export function loadBoard(text: string, fileName: string): LoadResult<Board> {
  return loadDocument(text, fileName, boardSchema);
}
