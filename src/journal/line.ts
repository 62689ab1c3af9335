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
import { createHash } from "node:crypto";
import type { JournalEntry } from "../events/events.ts";

/** SHA-256 of nothing: what the first line has as `before`. */
export const HASH_OF_NOTHING = sha256Hex("");

/** Half a SHA-256 is ample against damage, and a night has many lines. */
const CHECK_HEX_DIGITS = 32;
const CHECK_TAIL = /,"check":"([0-9a-f]{32})"\}$/;

/** Length of `,"check":"<32 hex>"}` in bytes. */
const TAIL_BYTES = `,"check":"${"0".repeat(CHECK_HEX_DIGITS)}"}`.length;

export function sha256Hex(bytes: Uint8Array | string): string {
  return createHash("sha256").update(bytes).digest("hex");
}

/**
 * The line of an entry, with its LF.
 *
 * @throws TypeError when the event holds something JSON cannot carry, such as NaN or undefined
 */
export function lineOf(entry: JournalEntry): string {
  const head =
    `{"n":${entry.n},"ms":${entry.ms},"before":"${entry.before}"` +
    `,"event":${canonicalJson(entry.event, "event")}`;
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

/** JSON with keys in a fixed order: `kind` first, the others by code unit. */
function canonicalJson(value: unknown, where: string): string {
  if (value === null || typeof value === "boolean" || typeof value === "string") {
    return JSON.stringify(value);
  }
  if (typeof value === "number") {
    if (!Number.isFinite(value)) {
      throw new TypeError(`Expected a finite number at ${where}, got ${value}.`);
    }
    return JSON.stringify(value);
  }
  if (Array.isArray(value)) {
    return `[${value.map((item, at) => canonicalJson(item, `${where}[${at}]`)).join(",")}]`;
  }
  if (typeof value === "object") {
    const fields = Object.entries(value)
      .sort(([one], [other]) => byKindThenName(one, other))
      .map(([key, item]) => `${JSON.stringify(key)}:${canonicalJson(item, `${where}.${key}`)}`);
    return `{${fields.join(",")}}`;
  }
  throw new TypeError(`Expected a JSON value at ${where}, got ${typeof value}.`);
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
