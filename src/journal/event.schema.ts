/** Shape of every event of `holdfast-journal`, versions 1 to 4, as it is read back. */
import { z } from "zod";
import { JOURNAL_FORMAT, JOURNAL_VERSION, type RunEvent } from "../events/events.ts";
import { cause, count, judged, ms, reading, text, volts } from "./event-parts.schema.ts";
import { drivenLevel, levelClass, railName, result, verdict } from "./level.schema.ts";
import { planSchema } from "./plan.schema.ts";
import { rigCheckName, rigFacts, rigFinding } from "./rig-check.schema.ts";
import { soakEvents, soakOrder, taughtBefore } from "./soak.schema.ts";

export const budget = z.strictObject({
  channel: text,
  class: levelClass,
  volts,
  terms: z.array(
    z.strictObject({
      name: text,
      shape: z.enum(["normal", "rectangular", "arcsine"]),
      halfV: volts.nonnegative().nullable(),
      u: volts.nonnegative(),
      dof: z.number().positive().nullable(),
      basis: text,
    }),
  ),
  u: volts.nonnegative(),
  dof: z.number().positive().nullable(),
  k: z.number().nonnegative(),
  expandedV: volts.nonnegative(),
});

const coldNet = z
  .strictObject({ net: text, volts: volts.nullable(), reading: reading.optional() })
  .refine((one) => one.reading === undefined || one.reading.volts === one.volts, "one volts");

const phase = z.enum([
  "connecting",
  "checking supplies",
  "heating",
  "raising bias",
  "raising plate",
  "warming up",
  "stepping",
  "holding",
  "by hand",
  "walking the relays",
  "testing the dead-man",
  "frozen",
  "standby",
  "soaking",
  "dwelling",
  "heaters low",
  "power off",
  "powering down",
  "ended",
]);

export const unitSheet = z.strictObject({
  unit: text,
  tubes: z.array(z.strictObject({ position: text, tube: text, serial: text.nullable() })),
  coldChecks: z.array(z.strictObject({ check: text, value: text.nullable(), by: text.nullable() })),
});

const eventSchema: z.ZodType<RunEvent> = z.discriminatedUnion("kind", [
  z.strictObject({
    kind: z.literal("run-opened"),
    format: z.literal(JOURNAL_FORMAT),
    version: z.union([z.literal(1), z.literal(2), z.literal(3), z.literal(JOURNAL_VERSION)]),
    run: text,
    mode: z.enum(["proof", "hand", "rig check", "soak"]).optional(),
    unit: text.nullable(),
    unitSheet: unitSheet.optional(),
    bench: text,
    seed: z.number().nullable(),
    wall: text,
    program: text,
    rule: text,
    plan: planSchema,
    rigCheck: rigCheckName.nullable().optional(),
    soak: soakOrder.optional(),
    taught: taughtBefore.optional(),
  }),
  z.strictObject({
    kind: z.literal("rig-checked"),
    facts: rigFacts,
    findings: z.array(rigFinding),
    fit: z.boolean(),
  }),
  z.strictObject({
    kind: z.literal("controller"),
    model: text,
    serial: text,
    firmware: text,
    resetCause: text,
    bootCount: count,
  }),
  z.strictObject({ kind: z.literal("phase"), phase }),
  z.strictObject({
    kind: z.literal("rail-switched"),
    rail: railName,
    on: z.boolean(),
    takenOverMs: ms.optional(),
  }),
  z.strictObject({
    kind: z.literal("gate"),
    gate: z.enum(["source", "board"]),
    rail: railName,
    reading,
    lowV: volts,
    highV: volts,
    open: z.boolean(),
    waitedMs: ms,
  }),
  z.strictObject({ kind: z.literal("trips-armed"), armed: z.boolean() }),
  z.strictObject({ kind: z.literal("lines"), set: z.record(text, drivenLevel) }),
  z.strictObject({ kind: z.literal("watch"), readings: z.array(reading) }),
  z.strictObject({
    kind: z.literal("net-warm"),
    net: text,
    volts,
    validMs: ms,
    steadyMs: ms.nullable(),
  }),
  z.strictObject({
    kind: z.literal("warm-up-ended"),
    warm: z.boolean(),
    tookMs: ms,
    cold: z.array(coldNet),
  }),
  z.strictObject({ kind: z.literal("step-begun"), step: count, name: text }),
  z.strictObject({
    kind: z.literal("reading"),
    step: count,
    part: z.enum(["pattern", "inactive", "hold", "flip"]),
    readings: z.array(judged),
  }),
  z.strictObject({ kind: z.literal("budget"), budget }),
  z.strictObject({
    kind: z.literal("hold-progress"),
    step: count,
    part: z.enum(["hold", "flip"]),
    elapsedMs: ms,
    forMs: ms,
    readingSets: count,
    moves: count,
    worst: z.record(
      text,
      z.strictObject({ lowV: volts, highV: volts, expandedV: volts.nonnegative().optional() }),
    ),
  }),
  z.strictObject({ kind: z.literal("step-ended"), step: count, result }),
  z.strictObject({
    kind: z.literal("controller-event"),
    event: z.enum(["restarted", "tripped", "dead-man", "link-lost"]),
    detail: text,
    channel: text.nullable(),
    volts: volts.nullable(),
  }),
  z.strictObject({
    kind: z.literal("stop-requested"),
    by: z.enum(["person", "signal"]),
    detail: text,
  }),
  z.strictObject({
    kind: z.literal("rail-fall"),
    rail: railName,
    proof: z.enum(["verified", "unproved", "lead lost", "never raised", "kept on"]),
    volts: volts.nullable(),
    tookMs: ms.nullable(),
  }),
  z.strictObject({ kind: z.literal("hand-begun"), limitMs: ms }),
  z.strictObject({ kind: z.literal("hand-reading"), readings: z.array(reading) }),
  z.strictObject({
    kind: z.literal("frozen"),
    step: count,
    limitMs: ms,
    trigger: text.nullable(),
  }),
  z.strictObject({
    kind: z.literal("freeze-turn"),
    step: count,
    turn: count,
    result,
    readings: z.array(judged),
  }),
  z.strictObject({ kind: z.literal("freeze-loop"), from: count, to: count.nullable() }),
  z.strictObject({
    kind: z.literal("thawed"),
    why: z.enum(["let go", "time over"]),
  }),
  z.strictObject({ kind: z.literal("standby-begun"), limitMs: ms, verdict }),
  z.strictObject({
    kind: z.literal("standby-ended"),
    why: z.enum(["next run", "let go", "time over"]),
  }),
  z.strictObject({ kind: z.literal("remark"), text }),
  z.strictObject({ kind: z.literal("fault"), code: text, message: text, net: text.nullable() }),
  z.strictObject({
    kind: z.literal("run-closed"),
    cause,
    detail: text,
    verdict,
    wall: text,
  }),
  ...soakEvents,
]);

export type ParsedEvent =
  | { readonly known: true; readonly event: RunEvent }
  | { readonly known: false; readonly problem: string };

/** The event if it has the shape of this version, else what is wrong with it in one clause. */
export function parseEvent(value: unknown): ParsedEvent {
  const parsed = eventSchema.safeParse(value);
  if (parsed.success) {
    return { known: true, event: parsed.data };
  }
  const first = parsed.error.issues[0];
  const where = first === undefined ? "" : ["event", ...first.path].join(".");
  return { known: false, problem: `got at ${where}: ${first?.message ?? "another shape"}` };
}
