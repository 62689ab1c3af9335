/**
 * Checked mode of the wire: how a command is framed and what a received line is.
 *
 * Frames are `>TT|body|CCCC` to the controller, `<TT|answer|CCCC` and `!NN|body|CCCC` from it.
 */
import { crc16 } from "./crc16.ts";

/** Longest line in bytes without its line feed. */
const LINE_BYTES_MAX = 96;
/** `>TT|` before and `|CCCC` after the body. */
export const BODY_BYTES_MAX = LINE_BYTES_MAX - 9;
/** Tag of a reply to a line whose own tag could not be trusted. */
export const UNTRUSTED_TAG = "--";

export type ReceivedLine =
  | { readonly kind: "reply"; readonly tag: string; readonly answer: string }
  | { readonly kind: "push"; readonly number: number; readonly body: string }
  /** Had the look of a frame, but its checksum or shape is wrong. */
  | { readonly kind: "damaged"; readonly looksLike: "reply" | "push"; readonly text: string }
  /** Nothing of ours: a bootloader, another program's probing, noise. */
  | { readonly kind: "stray"; readonly text: string };

const FRAME = /^([<!])([0-9A-F]{2}|--)\|(.*)\|([0-9A-F]{4})$/;
const FRAME_STARTS_MAX = 8;

/** `tag` counts modulo 256; the text comes without a line feed. */
export function frameCommand(tag: number, body: string): string {
  if (body.length > BODY_BYTES_MAX || !/^[\x20-\x7e]+$/.test(body)) {
    throw new RangeError(
      `A command is 1 to ${BODY_BYTES_MAX} printable ASCII characters; got ${JSON.stringify(body)}.`,
    );
  }
  return sealed(`>${hex(tag & 0xff, 2)}|${body}|`);
}

/** Append the checksum over everything so far. */
function sealed(start: string): string {
  return start + hex(crc16(Buffer.from(start, "latin1")), 4);
}

/**
 * What a received line is. Never throws.
 *
 * A controller that restarts in mid-line leaves half a line glued in front of its greeting, so a
 * good frame at the end of a line counts even when something stands before it.
 *
 * @param text one line as latin1 text, with or without a carriage return at its end
 */
export function readLine(text: string): ReceivedLine {
  const line = text.endsWith("\r") ? text.slice(0, -1) : text;
  const starts = frameStarts(line);
  for (const start of starts) {
    const frame = readFrame(line.slice(start));
    if (frame !== null) return frame;
  }
  const first = starts[0];
  if (first === undefined) return { kind: "stray", text: line };
  return { kind: "damaged", looksLike: line[first] === "!" ? "push" : "reply", text: line };
}

function frameStarts(line: string): number[] {
  const starts: number[] = [];
  for (let at = 0; at < line.length && starts.length < FRAME_STARTS_MAX; at += 1) {
    if (line[at] === "<" || line[at] === "!") starts.push(at);
  }
  return starts;
}

function readFrame(text: string): ReceivedLine | null {
  const [, start, tag, body, crc] = FRAME.exec(text) ?? [];
  if (start === undefined || tag === undefined || body === undefined || crc === undefined) {
    return null;
  }
  if (sealed(text.slice(0, -4)) !== text) return null;
  if (start === "<") return { kind: "reply", tag, answer: body };
  return tag === UNTRUSTED_TAG ? null : { kind: "push", number: Number.parseInt(tag, 16), body };
}

function hex(value: number, digits: number): string {
  return value.toString(16).toUpperCase().padStart(digits, "0");
}
