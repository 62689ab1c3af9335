/** `holdfast-sequence`: how a board is warmed up, stepped and held, and what must be read. */
import { z } from "zod";
import { type LoadResult, loadDocument } from "./load-document.ts";
import {
  chosenByKey,
  expectedField,
  lineField,
  lineLevelsField,
  nameField,
  netListField,
  positiveVoltsField,
  textField,
  titleNameField,
  waitMsField,
} from "./schema-parts.ts";

const stepNote = lineField("A sentence for the log.", 200).optional();

const unchangedField = z
  .literal(true)
  .describe(
    "Instead of expect: every net named at the end of the step before must read as it did there.",
  )
  .optional();

const eitherExpected = {
  path: ["unchanged"],
  message: "expected either the classes themselves or that nothing changes, not both",
};

const patternSchema = z
  .strictObject({
    step: lineField("Name of the step.", 60),
    set: lineLevelsField("Lines to drive; the others stay as they are."),
    settleMs: waitMsField("Wait between driving and reading."),
    expect: expectedField(
      "Nets to read and the class each must have; left out: all the rig reads, by the model.",
    ).optional(),
    unchanged: unchangedField,
    note: stepNote,
  })
  .refine(({ expect, unchanged }) => expect === undefined || !unchanged, eitherExpected)
  .describe("Drive lines, wait, read nets.");

const flipSchema = z
  .strictObject({
    enter: lineLevelsField("Lines that flip the state."),
    release: lineLevelsField("The same lines, released."),
    expect: expectedField(
      "Nets that must read so throughout, after the flip; left out: by the model.",
    ).optional(),
    forMs: waitMsField("How long the flipped state must hold."),
  })
  .describe(
    "The opposite input must flip the state and the flipped state must hold too: without it a set contact stuck closed would pass.",
  );

const holdSchema = z
  .strictObject({
    hold: lineField("Name of the hold proof.", 60),
    enter: lineLevelsField("Lines that enter the state."),
    release: lineLevelsField("The same lines, released."),
    inactive: lineLevelsField("Lines that must read so before and during the hold."),
    expect: expectedField(
      "Nets that must read so throughout; left out: those that stand still, by the model.",
    ).optional(),
    unchanged: unchangedField,
    move: z
      .array(nameField("Line of the rig."))
      .max(8)
      .describe("Lines moved to and fro while the state must hold: every other line."),
    moveEveryMs: waitMsField("Time between two moves."),
    readEveryMs: waitMsField("Time between two reading sets."),
    settleMs: waitMsField("Wait after each drive before reading."),
    forMs: waitMsField("How long the state must hold; longer than the slowest time constant."),
    lightMs: waitMsField(
      "Hold it once before for this long, read at its two ends alone: whether reading disturbs it.",
    ).optional(),
    flip: flipSchema,
    note: stepNote,
  })
  .refine(({ expect, unchanged }) => expect === undefined || !unchanged, eitherExpected)
  .describe("Hold proof: enter, release, prove the inputs inactive, hold, flip, hold again.");

const noteSchema = z
  .strictObject({ note: lineField("A sentence for the log.", 200) })
  .describe("A sentence for the log.");

const repeatSchema = z
  .strictObject({
    repeat: z.int().min(1).max(100_000).describe("How often."),
    steps: z
      .array(
        z
          .union([patternSchema, holdSchema, noteSchema])
          .register(chosenByKey, { keys: ["step", "hold", "note"] }),
      )
      .min(1)
      .max(1000)
      .describe("Steps done that often, in order. A repeat holds no repeat."),
  })
  .describe("Steps that are done several times.");

const stepSchema = z
  .union([patternSchema, holdSchema, repeatSchema, noteSchema])
  .register(chosenByKey, { keys: ["step", "hold", "repeat", "note"] });

const minutesField = (text: string) => z.number().positive().max(10_080).describe(text);

const soakSchema = z
  .strictObject({
    cycle: z
      .array(patternSchema)
      .min(1)
      .max(64)
      .describe(
        "Steps of one cycle. After the last the first follows, so the board must be where it began.",
      ),
    everyMs: waitMsField("From the start of one cycle to the start of the next.").optional(),
    readEveryMin: minutesField("A full set of readings this often, minutes.").optional(),
    power: z
      .strictObject({
        onMin: minutesField("Warm and cycling, minutes."),
        offMin: minutesField("Off, minutes."),
      })
      .describe("Power off and on again during the soak.")
      .optional(),
    dwell: z
      .strictObject({
        everyMin: minutesField("Cycling, minutes."),
        forMin: minutesField("Standing still with power on, minutes."),
      })
      .describe("Stand still between cycles: what is cut off for long may conduct badly at first.")
      .optional(),
    heaterLow: z
      .strictObject({
        percent: z.number().min(2).max(20).describe("So much below their volts."),
        settleMin: minutesField("Wait for the cathodes, before it is read and after, minutes."),
        riseV: z
          .number()
          .positive()
          .max(50)
          .describe("Largest rise of a low level that a section with reserve shows, volts.")
          .optional(),
      })
      .describe(
        "Full sets of readings with the heaters low, at the beginning and the end, where the supply can be lowered: a weak cathode shows there first.",
      )
      .optional(),
  })
  .describe("How this board is cycled in a soak.");

export const sequenceSchema = z
  .strictObject({
    format: z.literal("holdfast-sequence").describe("Name of this format."),
    version: z.literal(1).describe("Version of this format."),
    sequence: titleNameField("Name of the sequence."),
    board: titleNameField("Board type this sequence is written for."),
    warmUp: z
      .strictObject({
        timeoutMs: waitMsField("From heaters on; a section not warm by then fails."),
        steady: z
          .strictObject({
            bandV: positiveVoltsField("A low level is steady when it moves no more than this."),
            forMs: waitMsField("Time over which it may move so much."),
          })
          .describe("When a warm level counts as steady."),
        exercise: z
          .array(
            z
              .strictObject({
                set: lineLevelsField("Lines to drive."),
                settleMs: waitMsField("Wait between driving and reading."),
                pullsLow: netListField("Nets a warm section pulls low under this pattern."),
              })
              .describe("One warm-up pattern."),
          )
          .min(1)
          .max(64)
          .describe("Patterns that between them make every stage pull its net low."),
      })
      .describe("Warm-up: a section is warm only after it has pulled its net low."),
    steps: z.array(stepSchema).min(1).max(10_000).describe("What is done, in order."),
    soak: soakSchema.optional(),
    notes: textField("Why the sequence is as it is.").optional(),
  })
  .describe("A sequence: warm-up and steps of one pass.");

export type Sequence = z.infer<typeof sequenceSchema>;
export type SequencePattern = z.infer<typeof patternSchema>;
export type SequenceSoak = z.infer<typeof soakSchema>;
export type SequenceHold = z.infer<typeof holdSchema>;

/** Sequence file text to a sequence, or every problem in it. */
export function loadSequence(text: string, fileName: string): LoadResult<Sequence> {
  return loadDocument(text, fileName, sequenceSchema);
}
