/** From what a person types to values, held to the same schemas as the files. */
import type { z } from "zod";
import type { LevelClass } from "../events/levels.ts";
import { nearestName } from "../formats/nearest-name.ts";
import type { Answer } from "./question.ts";

/** Classes a net can be expected to read as, from the lowest. */
export const CLASSES = ["low", "between", "high"] as const satisfies readonly LevelClass[];

type Reader<T> = (text: string) => Answer<T>;

const refused = (why: string): { readonly ok: false; readonly why: string } => ({ ok: false, why });

/** The text itself, where a field of a file format takes it. */
export function asText(schema: z.ZodType<string>): Reader<string> {
  return (text) => held(schema, text);
}

/** The same, or null for an empty line. */
export function asTextOrNone(schema: z.ZodType<string>): Reader<string | null> {
  return (text) => (text === "" ? { ok: true, value: null } : held(schema, text));
}

/** A number with or without its unit, where a field of a file format takes it. */
export function asQuantity(schema: z.ZodType<number>, unit: Unit): Reader<number> {
  return (text) => {
    const value = quantity(text, unit);
    return value === null ? refused(`expected ${UNIT_WORDS[unit]}`) : held(schema, value);
  };
}

/** So many quantities apart by spaces, such as the resistors of a divider. */
export function asQuantities(count: number, unit: Unit, what: string): Reader<number[]> {
  return (text) => {
    const words = text.split(/[\s,;/]+/).filter((word) => word !== "");
    const values = words.map((word) => quantity(word, unit));
    const numbers = values.filter((value) => value !== null);
    if (numbers.length === count && values.length === count) return { ok: true, value: numbers };
    return refused(`expected ${count} numbers: ${what}`);
  };
}

/** One of some words. */
export function asOneOf<const T extends string>(words: readonly T[]): Reader<T> {
  return (text) => {
    const word = words.find((one) => one.toLowerCase() === text.toLowerCase());
    if (word !== undefined) return { ok: true, value: word };
    const near = nearestName(text, words);
    return refused(`expected ${listed(words)}${near === null ? "" : `; did you mean ${near}?`}`);
  };
}

export const asYesOrNo: Reader<boolean> = (text) => {
  if (/^(y|yes)$/i.test(text)) return { ok: true, value: true };
  if (/^(n|no)$/i.test(text)) return { ok: true, value: false };
  return refused("expected yes or no");
};

/** Names apart by spaces or commas, each once, each one of those known where some are. */
export function asNames(
  schema: z.ZodType<string>,
  known: readonly string[] | null,
  least = 1,
): Reader<string[]> {
  return (text) => {
    const names = text.split(/[\s,]+/).filter((word) => word !== "");
    if (names.length < least)
      return refused(`expected ${least} name${least === 1 ? "" : "s"} or more`);
    for (const [index, name] of names.entries()) {
      if (names.indexOf(name) !== index)
        return refused(`expected each name once, ${name} is there twice`);
      const wrong = known === null ? null : unknownName(name, known);
      if (wrong !== null) return refused(wrong);
      const one = held(schema, name);
      if (!one.ok) return one;
    }
    return { ok: true, value: names };
  };
}

/** Names with a word each, such as `SET=high RESET=low`. */
export function asLevels<const T extends string>(
  known: readonly string[],
  words: readonly T[],
  least = 1,
): Reader<Readonly<Record<string, T>>> {
  return (text) => {
    const levels = new Map<string, T>();
    for (const pair of text.split(/[\s,]+/).filter((word) => word !== "")) {
      const [name = "", level = "", more] = pair.split("=");
      const word = words.find((one) => one === level.toLowerCase());
      if (word === undefined || more !== undefined) {
        return refused(
          `expected names with ${listed(words)}, such as ${known[0] ?? "SET"}=${words[0]}`,
        );
      }
      const wrong = unknownName(name, known);
      if (wrong !== null) return refused(wrong);
      if (levels.has(name)) return refused(`expected each name once, ${name} is there twice`);
      levels.set(name, word);
    }
    if (levels.size < least)
      return refused(`expected ${listed(known)}, each with ${listed(words)}`);
    return { ok: true, value: Object.fromEntries(levels) };
  };
}

/** A reading that must hold to something else that was said before. */
export function holding<T>(reader: Reader<T>, check: (value: T) => string | null): Reader<T> {
  return (text) => {
    const answer = reader(text);
    if (!answer.ok) return answer;
    const why = check(answer.value);
    return why === null ? answer : refused(why);
  };
}

function held<T>(schema: z.ZodType<T>, value: T): Answer<T> {
  const parsed = schema.safeParse(value);
  if (parsed.success) return { ok: true, value: parsed.data };
  const message = parsed.error.issues[0]?.message ?? "another value";
  return refused(`expected ${message.replace(/^(Invalid input|Too (small|big)): expected /, "")}`);
}

function unknownName(name: string, known: readonly string[]): string | null {
  if (known.includes(name)) return null;
  const near = nearestName(name, known);
  const question = near === null ? "" : `; did you mean ${near}?`;
  return known.length === 0
    ? `expected nothing, there is no such thing here as ${name}`
    : `expected ${listed(known)}, got ${name}${question}`;
}

function listed(words: readonly string[]): string {
  return words.length < 2 ? words.join("") : `${words.slice(0, -1).join(", ")} or ${words.at(-1)}`;
}

export type Unit = "V" | "ohm" | "ms" | "nF" | "none";

const UNIT_WORDS: Readonly<Record<Unit, string>> = {
  V: "volts, such as 48 or -24 V",
  ohm: "ohms, such as 470, 47k or 1M",
  ms: "a time, such as 500 ms, 3 s or 2 min",
  nF: "nanofarads, such as 33",
  none: "a number",
};

/** What may stand behind a number, and by how much it multiplies. */
const SUFFIXES: Readonly<Record<Unit, Readonly<Record<string, number>>>> = {
  V: { "": 1, v: 1, mv: 1e-3, kv: 1e3 },
  ohm: { "": 1, ohm: 1, k: 1e3, kohm: 1e3, m: 1e6, mohm: 1e6 },
  ms: { "": 1, ms: 1, s: 1e3, min: 60e3, h: 3600e3 },
  nF: { "": 1, n: 1, nf: 1, u: 1e3, uf: 1e3 },
  none: { "": 1 },
};

function quantity(text: string, unit: Unit): number | null {
  // A time may be put together, as this program itself writes it: `2 min 7 s`.
  const parts = unit === "ms" ? text.split(/(?<=[a-z])\s+(?=\d)/i) : [text];
  const values = parts.map((part) => oneQuantity(part, unit));
  return values.some((value) => value === null)
    ? null
    : values.reduce<number>((sum, value) => sum + (value ?? 0), 0);
}

function oneQuantity(text: string, unit: Unit): number | null {
  const match = /^([+-]?(?:\d+(?:\.\d+)?|\.\d+))\s*([a-z]*)$/i.exec(text);
  const [, digits = "", suffix = ""] = match ?? [];
  const factors = SUFFIXES[unit];
  const key = suffix.toLowerCase();
  const factor = Object.hasOwn(factors, key) ? factors[key] : undefined;
  if (match === null || factor === undefined) return null;
  // 2.2 times a million is not quite 2200000 in binary.
  return Number((Number(digits) * factor).toPrecision(12));
}
