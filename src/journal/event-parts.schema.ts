/** Shapes that several events of a journal share: readings, their results, why a run ended. */
import { z } from "zod";
import { levelClass, noReadingReason, result } from "./level.schema.ts";

export const text = z.string();
export const volts = z.number();
export const ms = z.number().nonnegative();
export const count = z.int().nonnegative();

const readingFields = {
  channel: text,
  volts: volts.nullable(),
  noReading: noReadingReason.nullable(),
  sum: z.number(),
  count: z.number(),
  min: z.number(),
  max: z.number(),
  rippleV: volts.nonnegative().optional(),
  highestV: volts.optional(),
  expandedV: volts.nonnegative().optional(),
};
export const reading = z
  .strictObject(readingFields)
  .refine(
    (one) => (one.volts === null) !== (one.noReading === null),
    "volts or a reason, not both",
  );

export const judged = z
  .strictObject({
    ...readingFields,
    class: levelClass.nullable(),
    expected: levelClass,
    result,
    reason: z.enum([
      "as expected",
      "in guard band",
      "wrong class",
      "between",
      "margin short",
      "no reading",
      "uncertainty unknown",
    ]),
    limitV: volts.nullable(),
    marginV: volts.nullable(),
  })
  .refine((one) => (one.volts === null) !== (one.noReading === null), "volts or a reason, not both")
  .refine((one) => one.volts !== null || one.result === "void", "no reading is void");

export const cause = z.enum([
  "completed",
  "first fail",
  "stopped by the person",
  "signal",
  "trip",
  "link lost",
  "controller restarted",
  "dead-man",
  "supply refused",
  "rig unfit",
  "not warm",
  "line off its level",
  "steady error",
  "journal fault",
  "internal fault",
]);
