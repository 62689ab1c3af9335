/**
 * `holdfast-scenario`: what befalls a simulated bench in a night: weather, supplies that wander, tubes that wear,
 * joints that come and go, and rare mishaps. A plan never reads it, and nothing that judges a run does.
 */
import { z } from "zod";
import { type LoadResult, loadDocument } from "./load-document.ts";
import {
  nameField,
  ohmField,
  RAIL_NAMES,
  textField,
  titleNameField,
  voltsField,
} from "./schema-parts.ts";

const HOURS_MAX = 10_000;

const hours = (about: string) =>
  z.number().min(0).max(HOURS_MAX).describe(`${about} Hours after the bench is opened.`);
const percent = (about: string, most: number) =>
  z.number().min(0).max(most).describe(`${about} Percent.`);
const fromHours = hours("When it begins.").default(0);

const temperatureSchema = z
  .strictObject({
    meanC: z.number().min(-20).max(60).describe("Mean of the room. Degrees Celsius."),
    dailySwingC: z
      .number()
      .min(0)
      .max(30)
      .default(0)
      .describe("How far a day swings either way. Kelvin."),
    warmestAtHours: hours("When the day is at its warmest.").default(0),
    walkC: z
      .number()
      .min(0)
      .max(10)
      .default(0)
      .describe("What it wanders besides, standard deviation. Kelvin."),
    resistorPpmPerK: z
      .number()
      .min(-2000)
      .max(2000)
      .default(0)
      .describe(
        "Temperature coefficient of the board's resistors; each has between half and one and a half of it.",
      ),
  })
  .describe("Temperature of the room.");

const supplySchema = z
  .strictObject({
    swingPercent: percent("How far it swings either way.", 20).default(0),
    swingHours: z.number().min(0.1).max(100).default(2).describe("Length of one swing. Hours."),
    walkPercent: percent("What it wanders besides, standard deviation.", 10).default(0),
    ppmPerK: z
      .number()
      .min(-5000)
      .max(5000)
      .default(0)
      .describe("What the room's temperature does to it, from 22 degrees on."),
  })
  .describe("How a supply moves around the volts the rig file has for it.");

const referenceSchema = z
  .strictObject({
    driftPercentPerHour: z.number().min(-1).max(1).default(0).describe("Steady drift, an hour."),
    walkPercent: percent("What it wanders, standard deviation.", 5).default(0),
    ppmPerK: z
      .number()
      .min(-5000)
      .max(5000)
      .default(0)
      .describe("What the room's temperature does to it, from 22 degrees on."),
  })
  .describe("How what the converter compares with moves.");

const sectionSchema = z
  .strictObject({
    section: nameField("Triode part of the circuit, such as V1a."),
    emissionPercent: percent("What it has at the beginning.", 100).default(100),
    lossPercentPerHour: percent("What it loses in an hour, of full emission.", 100).default(0),
    loses: z
      .enum(["area", "activity"])
      .default("area")
      .describe(
        "area: the same share at any heat. activity: far more of it when the heater is low.",
      ),
    fromHours,
  })
  .describe("A section that wears.");

const jointSchema = z
  .strictObject({
    part: nameField("Resistor of the circuit whose joint it is, such as R4."),
    ohm: ohmField("What the joint adds while it is bad."),
    fromHours,
    comesAndGoes: z
      .strictObject({
        goodS: z.number().min(0.1).max(86_400).describe("Mean time it is good. Seconds."),
        badS: z.number().min(0.01).max(86_400).describe("Mean time it is bad. Seconds."),
      })
      .describe("Left out, a joint that is bad stays bad.")
      .optional(),
  })
  .describe("A dry joint.");

const sagSchema = z
  .strictObject({
    rail: z.enum(RAIL_NAMES).describe("Supply that sags."),
    lossPercentPerHour: percent("What it loses in an hour.", 100),
    lossPercentMax: percent("Where that ends.", 100).default(30),
    fromHours,
  })
  .describe("A supply that sags.");

const contactSchema = z
  .strictObject({
    contact: nameField("Rail or line whose contact it is."),
    leakOhm: ohmField("Across the open contact."),
    fromHours,
  })
  .describe("A contact that leaks.");

const when = {
  atHours: hours("When it happens, once.").optional(),
  timesPerHour: z
    .number()
    .positive()
    .max(1000)
    .describe("Or how often, at moments of chance.")
    .optional(),
};

/** Says the same to an editor as `checkWhen` to the loader. */
const eitherWhen = {
  oneOf: (["atHours", "timesPerHour"] as const).map((key) => ({
    properties: { [key]: { description: "This one and not the other." } },
    required: [key],
  })),
};

/** Longest that a glitch lasts: what stays longer is a fault of its own. */
const GLITCH_MS_MAX = 60_000;
const forMs = z.number().positive().max(GLITCH_MS_MAX).describe("How long it lasts. Milliseconds.");

interface When {
  readonly atHours?: number | undefined;
  readonly timesPerHour?: number | undefined;
}

function checkWhen(entries: readonly When[], context: z.RefinementCtx): void {
  for (const [index, { atHours, timesPerHour }] of entries.entries()) {
    if ((atHours === undefined) !== (timesPerHour === undefined)) continue;
    const message = "expected either atHours or timesPerHour";
    context.addIssue({ code: "custom", path: [index], message });
  }
}

const glitchSchema = z
  .discriminatedUnion("glitch", [
    z
      .strictObject({
        glitch: z
          .literal("misread")
          .describe("A channel reads wrong, from its next conversion on."),
        channel: nameField("Net or line whose channel it is."),
        addV: voltsField("What is added to what it reads."),
        forMs,
        ...when,
      })
      .meta(eitherWhen)
      .describe("A reading that is wrong once; the board is not touched."),
    z
      .strictObject({
        glitch: z.literal("pull").describe("Something pulls a net, behind ten kilohms."),
        net: nameField("Net or line that has a channel."),
        volts: voltsField("Where it is pulled to."),
        forMs,
        ...when,
      })
      .meta(eitherWhen)
      .describe("A net that is pulled; a latch may change over."),
    z
      .strictObject({
        glitch: z
          .literal("missed contact")
          .describe("A relay does not operate the next time it should."),
        contact: nameField("Rail or line whose contact it is."),
        ...when,
      })
      .meta(eitherWhen)
      .describe("A relay that misses once."),
  ])
  .describe("Something rare.");

const linkSchema = z
  .discriminatedUnion("mishap", [
    z
      .strictObject({
        mishap: z
          .enum(["lost line", "spoiled line"])
          .describe("The next line from the controller."),
        ...when,
      })
      .meta(eitherWhen)
      .describe("A line that does not come, or comes wrong."),
    z
      .strictObject({
        mishap: z.literal("unplugged").describe("The cable is pulled and put back."),
        forS: z.number().positive().max(86_400).describe("How long it is out. Seconds."),
        ...when,
      })
      .meta(eitherWhen)
      .describe("A cable that is pulled."),
    z
      .strictObject({
        mishap: z.literal("controller reset").describe("The controller starts again."),
        ...when,
      })
      .meta(eitherWhen)
      .describe("A controller that starts again."),
  ])
  .describe("What befalls the link.");

const list = <T extends z.ZodType>(schema: T, about: string) =>
  z.array(schema).max(200).default([]).describe(about);

export const scenarioSchema = z
  .strictObject({
    format: z.literal("holdfast-scenario").describe("Name of this format."),
    version: z.literal(1).describe("Version of this format."),
    scenario: titleNameField("Name of the scenario."),
    seed: z.int().min(0).max(4_294_967_295).describe("The same seed gives the same night."),
    temperature: temperatureSchema.optional(),
    supplies: z
      .partialRecord(z.enum(RAIL_NAMES), supplySchema)
      .default({})
      .describe("Supplies by rail."),
    reference: referenceSchema.optional(),
    noiseFactor: z
      .number()
      .min(0)
      .max(50)
      .default(1)
      .describe("Noise and hum of every pin, against those of a clean bench."),
    sections: list(sectionSchema, "Sections that wear."),
    joints: list(jointSchema, "Joints that are dry."),
    sags: list(sagSchema, "Supplies that sag."),
    contacts: list(contactSchema, "Contacts that leak."),
    glitches: list(glitchSchema, "Rare events of bench and board.").superRefine(checkWhen),
    link: list(linkSchema, "Rare events of the link.").superRefine(checkWhen),
    notes: textField("What this night is to show.").optional(),
  })
  .describe("A night of a simulated bench.");

export type Scenario = z.infer<typeof scenarioSchema>;

/** Scenario file text to a scenario, or every problem in it. */
export function loadScenario(text: string, fileName: string): LoadResult<Scenario> {
  return loadDocument(text, fileName, scenarioSchema);
}
