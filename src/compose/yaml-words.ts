/** Values as they stand in a file written for a person: plain where that is safe, else quoted. */

/** Words that YAML 1.2 would not read as text. */
const NOT_TEXT = /^(null|true|false)$/i;

/** A text on one line; plain when no reader could take it for anything else. */
export function word(text: string): string {
  const plain = /^[A-Za-z][A-Za-z0-9_+.-]*( [A-Za-z0-9_+.-]+)*$/.test(text) && !NOT_TEXT.test(text);
  return plain ? text : JSON.stringify(text);
}

/** `{ a: 1, b: [c, d] }`; what is undefined is left out. */
export function flow(value: FlowValue): string {
  if (typeof value === "string") return word(value);
  if (typeof value === "number" || typeof value === "boolean") return String(value);
  if (isList(value)) return `[${value.map(flow).join(", ")}]`;
  const pairs = Object.entries(value).flatMap(([key, one]) =>
    one === undefined ? [] : [`${word(key)}: ${flow(one)}`],
  );
  return pairs.length === 0 ? "{}" : `{ ${pairs.join(", ")} }`;
}

export type FlowValue =
  | string
  | number
  | boolean
  | readonly FlowValue[]
  | { readonly [key: string]: FlowValue | undefined };

function isList(value: FlowValue): value is readonly FlowValue[] {
  return Array.isArray(value);
}
