/** `holdfast-rig`: how a bench is wired to one type of board. */
import { z } from "zod";
import { type LoadResult, loadDocument } from "./load-document.ts";
import {
  chosenByKey,
  drivenLevelField,
  lineField,
  nameField,
  ohmField,
  positiveVoltsField,
  RAIL_NAMES,
  textField,
  titleNameField,
  voltsField,
} from "./schema-parts.ts";

const outputNumber = z.int().describe("Output number of the controller: 1..3 rails, 4..8 lines.");
const railField = z.enum(RAIL_NAMES).describe("Rail of the board.");

const sourceFields = {
  level: drivenLevelField("Level of the line in this position of the contact."),
  from: railField
    .describe("Rail the source is taken from; left out for a source of its own.")
    .optional(),
  sourceV: voltsField("Open-circuit volts of the source, signed."),
  sourceOhm: ohmField("Resistance of the source."),
};

const railOutputSchema = z
  .strictObject({
    output: outputNumber,
    drive: z.literal("relay").describe("A relay between a supply and a rail."),
    rail: railField,
    sourceV: voltsField("Volts of the supply before the relay, signed."),
    sourceOhm: ohmField("Resistance from supply to board."),
  })
  .describe("A rail relay.");

const driverField = z
  .number()
  .min(0)
  .max(100)
  .describe(
    "How long what drives the line takes to operate or release. Milliseconds; 10, a relay's, when not given.",
  )
  .optional();

const changeoverOutputSchema = z
  .strictObject({
    output: outputNumber,
    drive: z.literal("changeover").describe("A changeover contact between two sources."),
    line: nameField("Line of the board."),
    driverMs: driverField,
    released: z.strictObject(sourceFields).describe("Source with the relay released."),
    operated: z.strictObject(sourceFields).describe("Source with the relay operated."),
  })
  .describe("A driven line.");

const loadOutputSchema = z
  .strictObject({
    output: outputNumber,
    drive: z.literal("load").describe("A contact that connects a load."),
    line: nameField("Load of the board, by its name there."),
    driverMs: driverField,
    net: nameField("Net the load hangs on."),
    loadOhm: ohmField("Resistance of the load."),
    to: z.enum(["common", ...RAIL_NAMES]).describe("What the other end of the load goes to."),
  })
  .describe("A switched load.");

const triggerOutputSchema = z
  .strictObject({
    output: outputNumber,
    drive: z.literal("trigger").describe("An output to an oscilloscope's trigger input."),
    line: nameField("Name of the output; nothing on the board has it."),
  })
  .describe(
    "A trigger, raised at each turn while a run is frozen. It drives nothing on the board.",
  );

const dividerFields = {
  topOhm: ohmField("Resistor from node to converter pin."),
  bottomOhm: ohmField("Resistor from converter pin to common."),
  pullUpOhm: ohmField(
    "Resistor from converter pin to the reference, for negative nodes.",
  ).optional(),
  capacitorNf: z
    .number()
    .min(0)
    .max(10_000)
    .describe("Capacitor from converter pin to common. Nanofarads."),
};

const channelNumber = z.int().describe("Channel number of the controller: 1..6 rails, 7..22 nets.");

const channelSchema = z
  .union([
    z
      .strictObject({
        channel: channelNumber,
        rail: railField,
        at: z.enum(["source", "board"]).describe("Before the relay, or on the board side."),
        ...dividerFields,
      })
      .describe("A channel on a rail."),
    z
      .strictObject({
        channel: channelNumber,
        net: nameField("Net of the board."),
        ...dividerFields,
      })
      .describe("A channel on a net."),
    z
      .strictObject({
        channel: channelNumber,
        line: nameField("Driven line, read back at the board."),
        ...dividerFields,
      })
      .describe("A channel on a driven line."),
  ])
  .register(chosenByKey, { keys: ["rail", "net", "line"] });

const shuntSchema = z
  .strictObject({
    channel: channelNumber,
    rail: railField,
    ohm: ohmField("Shunt in the return of the supply, between its other pole and common."),
    topOhm: ohmField("Resistor from the shunt's supply end to the converter pin."),
    bottomOhm: ohmField("Resistor from converter pin to common."),
    pullUpOhm: ohmField(
      "Resistor from converter pin to the reference: a supply's return goes below common.",
    ),
    capacitorNf: dividerFields.capacitorNf,
  })
  .describe("A channel that reads the current of a rail.");

/** A channel that goes straight to what it reads, without a divider. */
const straightFields = {
  channel: channelNumber,
  sourceOhm: ohmField("Resistance from the source to the converter pin."),
  capacitorNf: dividerFields.capacitorNf,
};

const percentField = (about: string) =>
  z.number().min(0).max(50).describe(`${about} Percent, either way.`);

const referenceSchema = z
  .strictObject({
    ...straightFields,
    volts: z.number().min(0.5).max(5).describe("Volts of the source."),
    percent: percentField("How far these may be off."),
    driftPercent: percentField(
      "How far they may have gone since a calibration; as far as they may be off when not given.",
    ).optional(),
  })
  .describe(
    "A source of known volts on a channel of its own, by which the converter's reference is measured.",
  );

const groundSchema = z
  .strictObject({
    channel: channelNumber,
    topOhm: ohmField("Resistor from the board's common to the converter pin."),
    bottomOhm: ohmField("Resistor from converter pin to the controller's common."),
    pullUpOhm: ohmField("Resistor from converter pin to the reference: the shift has either sign."),
    capacitorNf: dividerFields.capacitorNf,
  })
  .describe("A channel that reads the board's common against the controller's.");

const temperatureSchema = z
  .strictObject({
    ...straightFields,
    zeroMv: z.number().min(0).max(3000).describe("Output at 0 degrees Celsius. Millivolts."),
    mvPerK: z.number().positive().max(200).describe("Millivolts a kelvin."),
  })
  .describe("A channel that reads a temperature sensor near the dividers.");

const accuracySchema = z
  .strictObject({
    resistorPercent: percentField("Divider resistors against their marked values."),
    referencePercent: percentField(
      "The converter's reference against referenceV, or since the calibration.",
    ),
    linearitySteps: z
      .number()
      .min(0)
      .max(8)
      .describe("How far the converter is from straight. Code steps, either way; 2 when not given.")
      .optional(),
    ppmPerK: z
      .number()
      .min(0)
      .max(5000)
      .describe("How far a divider's ratio goes with temperature; 100 when not given.")
      .optional(),
    spanK: z
      .number()
      .min(0)
      .max(60)
      .describe("By how many kelvin it may go from where it was calibrated; 10 when not given.")
      .optional(),
  })
  .describe("How good the parts of this rig are: what the uncertainty of a reading begins with.");

const loopbackSchema = z
  .strictObject({
    line: nameField("Driven line."),
    net: nameField("Net whose lead the plug joins to the line."),
    ohm: ohmField(
      "Resistor between them, so that nets on one line read apart; left out for a wire.",
    ).optional(),
  })
  .describe("A joint in the loop-back plug.");

const benchSchema = z
  .discriminatedUnion("kind", [
    z
      .strictObject({
        kind: z.literal("emulated").describe("The firmware in an emulator, wired to a simulation."),
        circuit: lineField("Circuit file beside this file.", 100).regex(
          /^[^/\\]+$/,
          "a file name without a folder",
        ),
      })
      .describe("The emulated bench."),
    z
      .strictObject({
        kind: z.literal("port").describe("A controller on a serial port."),
        port: lineField("Serial port, such as /dev/ttyACM0.", 200),
      })
      .describe("A real bench."),
  ])
  .describe("What is behind this rig.");

const protectionSchema = z
  .strictObject({
    fuses: lineField("Fuse of each supply, such as: heater 500 mA, bias 50 mA, plate 63 mA.", 200),
    thermalCutOut: lineField("What switches off when the bench gets hot, and where it sits.", 200),
    offSwitch: lineField("The switch that needs no computer, and who can reach it.", 200),
  })
  .describe("What protects this bench when nobody is there. Without it no soak runs unattended.");

export const rigSchema = z
  .strictObject({
    format: z.literal("holdfast-rig").describe("Name of this format."),
    version: z.literal(1).describe("Version of this format."),
    rig: titleNameField("Name of the rig."),
    board: titleNameField("Board type this rig is wired for."),
    bench: benchSchema,
    referenceV: z
      .number()
      .min(1)
      .max(5.5)
      .describe("Converter reference; the chip takes at most its own supply. Volts."),
    contactDcV: positiveVoltsField("DC rating of the relay contacts."),
    samples: z.int().min(1).max(64).describe("Conversions summed for one reading, 1..64."),
    mains: z
      .strictObject({
        hz: z
          .union([z.literal(50), z.literal(60)])
          .describe("Frequency of the mains here; nets and lines are averaged over whole periods."),
      })
      .describe("The mains whose hum is averaged out.")
      .optional(),
    package: textField(
      "Controller package and multiplexers: where the channels come from.",
    ).optional(),
    outputs: z
      .array(
        z.discriminatedUnion("drive", [
          railOutputSchema,
          changeoverOutputSchema,
          loadOutputSchema,
          triggerOutputSchema,
        ]),
      )
      .max(64)
      .describe("What each controller output drives."),
    channels: z.array(channelSchema).max(64).describe("What each controller channel reads."),
    shunts: z
      .array(shuntSchema)
      .max(3)
      .describe("Rails whose current is watched; the board file says what it may be.")
      .optional(),
    reference: referenceSchema.optional(),
    ground: groundSchema.optional(),
    temperature: temperatureSchema.optional(),
    accuracy: accuracySchema.optional(),
    loopback: z
      .array(loopbackSchema)
      .max(64)
      .describe(
        "A plug for the board's connector, for a full rig check: nets whose leads hang in the air follow a line.",
      )
      .optional(),
    protection: protectionSchema.optional(),
    notes: textField("How the rig is built.").optional(),
  })
  .describe("A rig: outputs, sources, channels and dividers between a controller and a board.");

export type Rig = z.infer<typeof rigSchema>;
export type RigOutput = Rig["outputs"][number];
export type RigChannel = Rig["channels"][number];
export type RigShunt = NonNullable<Rig["shunts"]>[number];

/** Rig file text to a rig, or every problem in it. */
export function loadRig(text: string, fileName: string): LoadResult<Rig> {
  return loadDocument(text, fileName, rigSchema);
}
