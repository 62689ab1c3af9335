/**
 * What a run and those attached to it say to each other: one JSON object a line, in UTF-8. The picture
 * of the run is not among it; that comes from the journal. docs/coming-back.md is the page of it.
 */
import { z } from "zod";
import type { RunWish } from "../../events/run-wish.ts";

export const CONTROL_VERSION = 1;
/** The longest wish is a fraction of it. */
export const ASKED_BYTES_MAX = 1024;
/** Words at the end of a run are told in one line. */
export const TOLD_BYTES_MAX = 256 * 1024;

const name = z.string().min(1).max(80);
const index = z.number().int().min(0).max(1_000_000);
const wish = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("drive"), line: name, level: z.enum(["low", "high"]) }),
  z.strictObject({ kind: z.literal("pulse"), line: name }),
  z.strictObject({ kind: z.literal("repeat") }),
  z.strictObject({ kind: z.literal("loop"), with: index.nullable() }),
  z.strictObject({ kind: z.literal("let go") }),
  z.strictObject({ kind: z.literal("next run") }),
]) satisfies z.ZodType<RunWish>;
/** Goes into the journal, so it is short and prints. */
const words = z
  .string()
  .max(40)
  .regex(/^[^\p{Cc}\p{Cf}]*$/u);
const version = z.number().int();

const asked = z.union([
  z.strictObject({ hello: z.strictObject({ version, from: words }) }),
  z.strictObject({ id: index, stop: words }),
  z.strictObject({ id: index, wish }),
]);

/** From one who is attached: who it is, first of all, then what is wished. */
export type Asked = z.infer<typeof asked>;

const run = z.object({ version, name: z.string(), journal: z.string(), process: z.number().int() });
const told = z.union([
  z.object({ run }),
  z.object({ id: index, answer: z.string().nullable() }),
  z.object({ notice: z.string() }),
  z.object({ refused: z.string() }),
  z.object({ ended: z.object({ status: z.number().int(), words: z.array(z.string()) }) }),
]);

/** The run that is reached now; told at the beginning, and again when a next run takes over. */
export type ReachedRun = z.infer<typeof run>;
/** From the run. `refused` is the last line before it hangs up. */
export type Told = z.infer<typeof told>;

export function lineOf(message: Asked | Told): string {
  return `${JSON.stringify(message)}\n`;
}

/** Null for what nobody would send. */
export function readAsked(line: string): Asked | null {
  return readAs(asked, line);
}

export function readTold(line: string): Told | null {
  return readAs(told, line);
}

function readAs<Message>(schema: z.ZodType<Message>, line: string): Message | null {
  const result = schema.safeParse(parsed(line));
  return result.success ? result.data : null;
}

function parsed(line: string): unknown {
  try {
    return JSON.parse(line);
  } catch {
    return undefined;
  }
}
