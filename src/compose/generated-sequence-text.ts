/** A generated sequence as a file a person can read, change and run. */
import type { Sequence, SequenceHold, SequencePattern } from "../formats/sequence.schema.ts";
import { type FlowValue, flow, word } from "./yaml-words.ts";

/** Longest line, where it can be helped. */
const LINE_LENGTH = 110;

export function generatedSequenceText(sequence: Sequence): string {
  const { warmUp, steps, soak, notes } = sequence;
  return `${[
    "# Generated from the board's stages: what nets must read is what the model says, not what was measured.",
    "format: holdfast-sequence",
    "version: 1",
    `sequence: ${word(sequence.sequence)}`,
    `board: ${word(sequence.board)}`,
    "# A section is warm only after it was seen to pull its net low: a cold one reads high.",
    "warmUp:",
    `  timeoutMs: ${warmUp.timeoutMs}`,
    `  steady: ${flow(warmUp.steady)}`,
    "  exercise:",
    ...warmUp.exercise.map((one) => `    - ${flow(one)}`),
    "steps:",
    ...steps.flatMap((step) => stepLines(step, "  ")),
    ...(soak === undefined ? [] : soakLines(soak)),
    ...(notes === undefined ? [] : ["notes: |", ...wrapped(notes).map((line) => `  ${line}`)]),
  ].join("\n")}\n`;
}

function stepLines(step: Sequence["steps"][number], indent: string): string[] {
  if ("note" in step && Object.keys(step).length === 1)
    return [`${indent}- note: ${word(step.note ?? "")}`];
  if ("hold" in step) return holdLines(step, indent);
  if ("repeat" in step)
    return [
      `${indent}- repeat: ${step.repeat}`,
      `${indent}  steps:`,
      ...step.steps.flatMap((one) => stepLines(one, `${indent}    `)),
    ];
  return "step" in step ? patternLines(step, indent) : [];
}

/** On one line where it fits. */
function patternLines(step: SequencePattern, indent: string): string[] {
  const one = `${indent}- ${flow(step)}`;
  if (one.length <= LINE_LENGTH) return [one];
  return keyLines(step, indent);
}

function holdLines({ flip, ...hold }: SequenceHold, indent: string): string[] {
  return [
    `${indent}# Enter, let go, stay while other lines move, flip, stay again.`,
    ...keyLines(hold, indent),
    `${indent}  flip:`,
    ...plainLines(flip, `${indent}    `),
  ];
}

/** Keys of one entry of a list, one a line. */
function keyLines(entry: Keys, indent: string): string[] {
  return plainLines(entry, "").map((line, at) => `${indent}${at === 0 ? "-" : " "} ${line}`);
}

type Keys = Readonly<Record<string, FlowValue | undefined>>;

function plainLines(keys: Keys, indent: string): string[] {
  return Object.entries(keys).flatMap(([key, value]) =>
    value === undefined ? [] : [`${indent}${key}: ${flow(value)}`],
  );
}

function soakLines({ cycle, ...rest }: NonNullable<Sequence["soak"]>): string[] {
  return [
    "soak:",
    "  # The first step needs no state, so it may follow the last.",
    "  cycle:",
    ...cycle.flatMap((step) => patternLines(step, "    ")),
    ...plainLines(rest, "  "),
  ];
}

/** Lines of running text, broken between words. */
function wrapped(text: string): string[] {
  return text.split("\n").flatMap((paragraph) => {
    const lines = [""];
    for (const one of paragraph.split(" ")) {
      const last = lines.at(-1) ?? "";
      if (last !== "" && last.length + one.length + 1 > LINE_LENGTH) lines.push(one);
      else lines[lines.length - 1] = last === "" ? one : `${last} ${one}`;
    }
    return lines;
  });
}
