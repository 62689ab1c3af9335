import { z } from "zod";

const change = z.strictObject({
  do: z.literal("change"),
  part: z.string().min(1),
  parameter: z.string().min(1),
  value: z.number(),
  atMs: z.number().nullable().optional(),
});

const control = z.discriminatedUnion("do", [
  z.strictObject({ do: z.literal("reset") }),
  z.strictObject({ do: z.literal("brown-out") }),
  z.strictObject({ do: z.literal("cut-5v") }),
  z.strictObject({ do: z.literal("restore-5v") }),
  z.strictObject({ do: z.literal("lose-data") }),
  z.strictObject({ do: z.literal("carry-data") }),
  z.strictObject({ do: z.literal("unplug") }),
  z.strictObject({ do: z.literal("plug") }),
  z.strictObject({ do: z.literal("mark"), text: z.string() }),
  z.strictObject({ do: z.literal("quit") }),
  change,
]);

/** One thing to do to a served bench, sent as a line of JSON. */
export type BenchControl = z.infer<typeof control>;

/** @throws Error naming the line and what is wrong with it */
export function parseControlLine(line: string): BenchControl {
  let value: unknown;
  try {
    value = JSON.parse(line);
  } catch (cause) {
    throw new Error(`expected a control as one line of JSON, got "${line.slice(0, 80)}"`, {
      cause,
    });
  }
  const result = control.safeParse(value);
  if (!result.success) {
    const reasons = result.error.issues.map(
      (issue) => `${issue.path.join(".") || "line"}: ${issue.message}`,
    );
    throw new Error(`control "${line.slice(0, 80)}" is refused: ${reasons.join("; ")}`);
  }
  return result.data;
}
