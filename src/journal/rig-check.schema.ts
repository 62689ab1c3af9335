/** Shape of what a rig check measured and found, in a journal and in a file of its own. */
import { z } from "zod";
import type { RigCheckName, RigFacts, RigFault, RigFinding } from "../events/rig-check.ts";
import { railName } from "./level.schema.ts";

const text = z.string();
const code = z.number().min(0).max(1024);
const part = z.number().min(0).max(1);
const ms = z.number().nonnegative();
const depth = z.enum(["quick", "full"]);

const faultFields = {
  kind: z.enum([
    "welded contact",
    "open contact",
    "leaky contact",
    "bounce",
    "swapped leads",
    "open lead",
    "stuck channel",
    "floating input",
    "crosstalk",
    "reference off",
    "pick-up",
    "noise",
    "off its level",
    "ground shift",
    "dead-man",
  ]),
  where: text,
  other: text.nullable(),
};
const fault: z.ZodType<RigFault> = z.strictObject(faultFields);

export const rigFinding: z.ZodType<RigFinding> = z.strictObject({
  ...faultFields,
  severity: z.enum(["unfit", "remark"]),
  seen: text,
  whatToDo: text,
  orElse: z.array(fault),
});

export const rigFacts: z.ZodType<RigFacts> = z.strictObject({
  depth,
  looks: z.array(
    z.strictObject({
      state: z.strictObject({ rails: z.array(railName), operated: z.array(text) }),
      codes: z.record(text, code),
    }),
  ),
  quiet: z.array(
    z.strictObject({
      channel: text,
      means50: z.array(code),
      means60: z.array(code),
      min: code,
      max: code,
      tone: z
        .strictObject({ part50: part, part60: part, restless: z.number().nonnegative() })
        .nullable(),
      humV: z.number().nonnegative(),
    }),
  ),
  contacts: z.array(
    z.strictObject({
      contact: text,
      channel: text,
      move: z.enum(["operate", "release"]),
      answeredMs: ms.nullable(),
      bounceMs: ms.nullable(),
    }),
  ),
  deadMan: z
    .strictObject({
      setMs: ms.nullable(),
      firedMs: ms.nullable(),
      falls: z.array(z.strictObject({ rail: railName, afterMs: ms.nullable() })),
    })
    .nullable(),
});

export const rigCheckName: z.ZodType<RigCheckName> = z.strictObject({
  at: text,
  depth,
  id: text,
  fit: z.boolean(),
  ageMs: z.number(),
  sameRig: z.boolean(),
});
