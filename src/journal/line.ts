/**
 * One journal line as bytes.
 *
 * `{"n":..,"ms":..,"before":"..","event":{..},"check":".."}` and LF. `before` is the SHA-256 of the
 * line before, LF included, so `sed -n 3p FILE | sha256sum` gives the `before` of line 4. `check` is
 * the first half of the SHA-256 of the line's own bytes up to it: it names the very line that was
 * changed, the last one too, which no later line vouches for. Neither is a signature.
 *
 * Key order is fixed (kind first, then by code unit), so the same events give the same bytes.
 */
import { hash } from "node:crypto";
import type { JournalEntry, RunEvent } from "../events/events.ts";

/** SHA-256 of nothing: what the first line has as `before`. */
export const HASH_OF_NOTHING = sha256Hex("");

/** Half a SHA-256 is ample against damage, and a night has many lines. */
const CHECK_HEX_DIGITS = 32;
const CHECK_TAIL = /,"check":"([0-9a-f]{32})"\}$/;

/** Length of `,"check":"<32 hex>"}` in bytes. */
const TAIL_BYTES = `,"check":"${"0".repeat(CHECK_HEX_DIGITS)}"}`.length;

export function sha256Hex(bytes: Uint8Array | string): string {
  return hash("sha256", bytes, "hex");
}

/**
 * The JSON of an event, as its line holds it.
 *
 * @throws TypeError when the event holds something JSON cannot carry, such as NaN or undefined
 */
export function eventJson(event: RunEvent): string {
  return canonicalJson(event) ?? refuse(event);
}

/**
 * The line of an entry, with its LF.
 *
 * @param eventText what `eventJson` makes of its event, where that is known already
 * @throws TypeError as `eventJson` does
 */
export function lineOf(entry: JournalEntry, eventText = eventJson(entry.event)): string {
  const { n, ms, before } = entry;
  const head = `{"n":${n},"ms":${ms},"before":"${before}","event":${eventText}`;
  return `${head},"check":"${sha256Hex(head).slice(0, CHECK_HEX_DIGITS)}"}\n`;
}

/** Whether the line's text (without LF) agrees with its own check. `bytes` are the same, raw. */
export function checkHolds(text: string, bytes: Uint8Array): boolean {
  const found = CHECK_TAIL.exec(text)?.[1];
  if (found === undefined) {
    return false;
  }
  const own = sha256Hex(bytes.subarray(0, bytes.length - TAIL_BYTES));
  return own.startsWith(found);
}

/** JSON with keys in a fixed order: `kind` first, the others by code unit. Null where there is no such JSON. */
function canonicalJson(value: unknown): string | null {
  if (typeof value !== "object" || value === null) {
    return isScalar(value) ? JSON.stringify(value) : null;
  }
  const isList = Array.isArray(value);
  let text = isList ? "[" : "{";
  let joint = "";
  const names = isList ? null : Object.keys(value).sort(byKindThenName);
  for (const item of names ?? (value as readonly unknown[])) {
    const name = names === null ? "" : `${JSON.stringify(item)}:`;
    const one = canonicalJson(names === null ? item : (value as Fields)[item as string]);
    if (one === null) return null;
    text += `${joint}${name}${one}`;
    joint = ",";
  }
  return text + (isList ? "]" : "}");
}

type Fields = Readonly<Record<string, unknown>>;

function isScalar(value: unknown): boolean {
  return (
    value === null ||
    typeof value === "boolean" ||
    typeof value === "string" ||
    Number.isFinite(value)
  );
}

/** Where the first thing stands that JSON cannot carry; looked for only when there is one. */
function refuse(value: unknown, where = "event"): never {
  if (typeof value === "object" && value !== null) {
    for (const [key, item] of Object.entries(value)) {
      if (canonicalJson(item) !== null) continue;
      refuse(item, Array.isArray(value) ? `${where}[${key}]` : `${where}.${key}`);
    }
  }
  throw new TypeError(
    typeof value === "number"
      ? `Expected a finite number at ${where}, got ${value}.`
      : `Expected a JSON value at ${where}, got ${typeof value}.`,
  );
}

function byKindThenName(one: string, other: string): number {
  if (one === other) {
    return 0;
  }
  if (one === "kind" || other === "kind") {
    return one === "kind" ? -1 : 1;
  }
  return one < other ? -1 : 1;
}
