/**
 * `holdfast-calibration`: what a reference meter found of the channels of a rig on one day. Such a file is
 * dated, lies beside the rig file in the folder `calibrations`, and is never changed.
 */
import { z } from "zod";
import { type LoadResult, loadDocument } from "./load-document.ts";
import { lineField, ohmField, titleNameField, voltsField } from "./schema-parts.ts";

/** A net or line by its name, `plate.board` and its like, `ground`. */
export const CHANNEL_NAME_PATTERN = /^[A-Za-z][A-Za-z0-9_+-]{0,23}(\.(source|board|current))?$/;

export const DAY_PATTERN = /^\d{4}-\d{2}-\d{2}$/;

const dayField = (about: string) =>
  z.string().regex(DAY_PATTERN, "a date such as 2026-05-01").describe(about);

const code = (about: string) => z.number().min(0).max(1023).describe(about);

const halfWidthField = (about: string) => z.number().min(0).max(1000).describe(about);

export const meterSchema = z
  .strictObject({
    name: lineField("Make, type and serial of the reference meter.", 60),
    checked: dayField("Day of the meter's own last check against something better."),
    percent: z
      .number()
      .min(0)
      .max(10)
      .describe("What it may be off, of the reading. Percent, either way."),
    volts: z
      .number()
      .min(0)
      .max(10)
      .describe("What it may be off besides, such as its last digits. Volts, either way."),
    from: z
      .enum(["typed", "SCPI", "simulated"])
      .describe("How its volts came here: typed by a person, asked of it, or a simulated one."),
  })
  .describe("The reference meter.");

export type CalibrationMeter = z.infer<typeof meterSchema>;

const codesFields = {
  code: code("Mean of the codes read at this point."),
  count: z.int().min(1).max(4096).describe("Conversions of the mean."),
  min: code("Lowest of them."),
  max: code("Highest of them."),
};

export const pointFields = {
  meterV: voltsField("What the meter showed."),
  digitV: z.number().min(0).max(10).describe("One step of the meter's last digit. Volts."),
  ...codesFields,
  referenceV: z
    .number()
    .min(1)
    .max(6)
    .describe("The converter's reference at this point, as the rig measured it. Volts.")
    .optional(),
  referenceU: z
    .number()
    .min(0)
    .max(1)
    .describe("Standard uncertainty of that, the known source apart. Volts.")
    .optional(),
};

const pointSchema = z
  .strictObject({
    ...pointFields,
    asFoundV: voltsField("What the channel was off before, reading less meter."),
    asLeftV: voltsField("What it is off by the new line, reading less meter."),
  })
  .describe("One point.");

const channelSchema = z
  .strictObject({
    wired: z
      .strictObject({
        channel: z.int().min(1).max(22).describe("Channel number of the controller."),
        topOhm: ohmField("Marked value of the resistor from the node to the converter pin."),
        bottomOhm: ohmField("Marked value of the resistor from converter pin to common."),
        pullUpOhm: ohmField("Marked value of the one from converter pin to reference.").optional(),
        referenceV: z.number().min(1).max(5.5).describe("The rig file's reference. Volts."),
      })
      .describe("What was wired then; a channel that was changed since is not calibrated."),
    found: lineField(
      "What the errors as found are of: `marked` values, or the date of the calibration before.",
      40,
    ),
    points: z.array(pointSchema).min(2).max(100).describe("In the order they were taken."),
    gain: z
      .number()
      .min(0.1)
      .max(10)
      .describe("Volts at the lead are offsetV + gain times the volts by marked values."),
    offsetV: voltsField("Volts at the lead where the marked values say 0."),
    referenceV: z
      .number()
      .min(1)
      .max(6)
      .describe(
        "The converter's reference that the offset is for, mean of the points; it goes with it. Volts.",
      )
      .optional(),
    fit: z
      .strictObject({
        gainU: halfWidthField("Standard uncertainty of the gain."),
        offsetU: halfWidthField("Standard uncertainty of the offset. Volts."),
        covariance: z.number().min(-1e6).max(1e6).describe("Of gain and offset. Volts."),
        dof: z
          .number()
          .positive()
          .nullable()
          .describe("Degrees of freedom; null where it rests on what was known of the points."),
      })
      .describe("What the line may be off, the meter apart."),
    linearityV: halfWidthField("Largest distance of a point from the line. Volts."),
    lowV: voltsField("Lowest point."),
    highV: voltsField("Highest point."),
  })
  .refine(({ lowV, highV }) => lowV < highV, "expected lowV below highV")
  .describe("One channel.");

export const calibrationSchema = z
  .strictObject({
    format: z.literal("holdfast-calibration").describe("Name of this format."),
    version: z.literal(1).describe("Version of this format."),
    rig: titleNameField("Name of the rig."),
    date: z.iso
      .datetime({ offset: true, error: "expected a time such as 2026-05-01T10:20:30+00:00" })
      .describe("When it was made."),
    expires: dayField("First day on which it no longer counts."),
    by: lineField("Initials of who did it.", 12).optional(),
    meter: meterSchema,
    reference: z
      .strictObject({
        sourceV: z.number().min(0.5).max(5).describe("The rig file's volts of the known source."),
        volts: z
          .number()
          .min(1)
          .max(6)
          .describe("The converter's reference, measured by it; mean of all points. Volts."),
      })
      .describe(
        "Where the rig measures its reference by a known source: gains are then free of it.",
      )
      .optional(),
    celsius: z
      .number()
      .min(-50)
      .max(150)
      .describe("Where the rig's temperature sensor stood. Degrees Celsius.")
      .optional(),
    channels: z
      .record(
        z.string().regex(CHANNEL_NAME_PATTERN, "a channel such as Q, or plate.board"),
        channelSchema,
      )
      .refine((channels) => Object.keys(channels).length > 0, "expected at least one channel")
      .meta({ minProperties: 1 })
      .describe("Channels that were calibrated."),
  })
  .describe("A calibration: what a reference meter found of the channels of a rig.");

export type Calibration = z.infer<typeof calibrationSchema>;
export type CalibratedChannel = Calibration["channels"][string];

/** Calibration file text to a calibration, or every problem in it. */
export function loadCalibration(text: string, fileName: string): LoadResult<Calibration> {
  return loadDocument(text, fileName, calibrationSchema);
}
