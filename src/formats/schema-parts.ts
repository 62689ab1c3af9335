/** Field shapes that board, rig, sequence and circuit files share. */
import { z } from "zod";

/** Letters, digits, `_`, `+`, `-`; begins with a letter. Short, since it heads a screen column. */
const NAME_PATTERN = /^[A-Za-z][A-Za-z0-9_+-]{0,23}$/;

/** One line for people: no control or direction marks that could disturb a terminal. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: these characters are what is refused
const LINE_PATTERN = /^[^\u0000-\u001f\u007f-\u009f\u2028-\u202e\u2066-\u2069]+$/;

/** As above, but line feeds are kept. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: these characters are what is refused
const TEXT_PATTERN = /^[^\u0000-\u0009\u000b-\u001f\u007f-\u009f\u2028-\u202e\u2066-\u2069]*$/;

/** Rails by name, in the order they are raised. */
export const RAIL_NAMES = ["heater", "bias", "plate"] as const;

/** Largest magnitude of volts that any field takes: far above the benches this is made for. */
const VOLTS_MAX = 1000;

/** Longest wait of any field: a day. A timer beyond 2^31-1 ms would fire at once. */
const WAIT_MS_MAX = 86_400_000;

export const nameField = (about: string) =>
  z
    .string()
    .regex(NAME_PATTERN, "letters, digits, `_`, `+` or `-`, a letter first, at most 24")
    .describe(about);

/** Name of a file or thing, such as `flasher-latch`. */
export const titleNameField = (about: string) =>
  z
    .string()
    .regex(
      /^[A-Za-z0-9][A-Za-z0-9_.+-]{0,47}$/,
      "letters, digits, `_`, `.`, `+` or `-`, at most 48",
    )
    .describe(about);

export const lineField = (about: string, lengthMax = 120) =>
  z
    .string()
    .min(1)
    .max(lengthMax)
    .regex(LINE_PATTERN, "one line of text without control characters")
    .describe(about);

export const textField = (about: string) =>
  z.string().max(20_000).regex(TEXT_PATTERN, "text without control characters").describe(about);

export const voltsField = (about: string) =>
  z.number().min(-VOLTS_MAX).max(VOLTS_MAX).describe(`${about} Volts.`);

export const positiveVoltsField = (about: string) =>
  z.number().positive().max(VOLTS_MAX).describe(`${about} Volts.`);

export const waitMsField = (about: string) =>
  z.number().positive().max(WAIT_MS_MAX).describe(`${about} Milliseconds.`);

export const ohmField = (about: string) =>
  z.number().positive().max(1e9).describe(`${about} Ohms.`);

export const drivenLevelField = (about: string) => z.enum(["low", "high"]).describe(about);

const levelClassField = (about: string) => z.enum(["low", "between", "high"]).describe(about);

/** Lines and the level each is driven to. */
export const lineLevelsField = (about: string) =>
  z
    .record(
      nameField("Line of the rig."),
      drivenLevelField("Level to drive; for a load, high means connected."),
    )
    .describe(about);

/** Nets and the class each is to read as; at least one. */
export const expectedField = (about: string) =>
  z
    .record(nameField("Net of the board."), levelClassField("Class the receiver is to see."))
    .refine((expected) => Object.keys(expected).length > 0, "expected at least one net")
    .meta({ minProperties: 1 })
    .describe(about);

export const netListField = (about: string) =>
  z.array(nameField("Net of the board.")).max(64).describe(about);

/**
 * Unions whose branch is chosen by which of some keys is present, such as a step by `step`, `hold`,
 * `repeat` or `note`. Known here so that an error speaks of the branch the person meant.
 */
export const chosenByKey = z.registry<{ readonly keys: readonly string[] }>();
