/**
 * Checked mode of the wire: how a command is framed and what a received line is.
 *
 * Frames are `>TT|body|CCCC` to the controller, `<TT|answer|CCCC` and `!NN|body|CCCC` from it.
 */
import { crc16OfText } from "./crc16.ts";

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

const PRINTABLE = /^[\x20-\x7e]+$/;
const TAG = /^(?:[0-9A-F]{2}|--)$/;
/** `<TT|` or `!NN|` before the body, `|CCCC` after it. */
const HEAD_LENGTH = 4;
const TAIL_LENGTH = 5;
const FRAME_STARTS_MAX = 8;
/** Every byte in two upper-case digits. */
const HEX_BYTES: readonly string[] = Array.from({ length: 256 }, (_, byte) =>
  byte.toString(16).toUpperCase().padStart(2, "0"),
);

/** `tag` counts modulo 256; the text comes without a line feed. */
export function frameCommand(tag: number, body: string): string {
  if (body.length > BODY_BYTES_MAX || !PRINTABLE.test(body)) {
    throw new RangeError(
      `A command is 1 to ${BODY_BYTES_MAX} printable ASCII characters; got ${JSON.stringify(body)}.`,
    );
  }
  return sealed(`>${HEX_BYTES[tag & 0xff]}|${body}|`);
}

/** Append the checksum over everything so far. */
function sealed(start: string): string {
  const crc = crc16OfText(start);
  return start + HEX_BYTES[crc >> 8] + HEX_BYTES[crc & 0xff];
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
  // As nearly every line is: one frame and nothing before it.
  const whole = readFrame(line);
  if (whole !== null) return whole;
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
  const bodyEnd = text.length - TAIL_LENGTH;
  if (text[0] !== "<" && text[0] !== "!") return null;
  if (bodyEnd < HEAD_LENGTH || text[HEAD_LENGTH - 1] !== "|" || text[bodyEnd] !== "|") return null;
  const tag = text.slice(1, HEAD_LENGTH - 1);
  if (!TAG.test(tag) || sealed(text.slice(0, bodyEnd + 1)) !== text) return null;
  const body = text.slice(HEAD_LENGTH, bodyEnd);
  if (text[0] === "<") return { kind: "reply", tag, answer: body };
  return tag === UNTRUSTED_TAG ? null : { kind: "push", number: Number.parseInt(tag, 16), body };
}
