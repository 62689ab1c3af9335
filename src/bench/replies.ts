/** Readers of the controller's answers and pushed lines; null means the text has another shape. */
import type { RawReading } from "./bench.ts";

/** Highest code of a 10-bit converter. */
export const CODE_MAX = 1023;
/** More codes than this with their scan number do not fit a line of 96 bytes. */
const TRAIL_SCANS_MAX = 16;

export interface IdentityAnswer {
  readonly maker: string;
  readonly model: string;
  readonly serial: string;
  readonly firmware: string;
}

export interface BootAnswer {
  readonly cause: string;
  readonly bootCount: number;
  readonly sinceResetMs: number;
}

export interface CapabilityAnswer {
  readonly protocol: number;
  readonly outputs: number;
  readonly channels: number;
  readonly samplesMax: number;
  readonly channelsPerRead: number;
}

export type PushedLine =
  | {
      readonly kind: "boot";
      readonly protocol: string;
      readonly firmware: string;
      readonly cause: string;
      readonly bootCount: number;
    }
  | {
      readonly kind: "trip";
      readonly channel: number;
      readonly code: number;
      readonly atMs: number;
    }
  | { readonly kind: "dead-man"; readonly atMs: number }
  | { readonly kind: "off"; readonly atMs: number };

const BOOT_PUSH = /^BOOT (\d+),([^,]+),([A-Z]+),(\d+)$/;

export function readPush(body: string): PushedLine | null {
  const boot = BOOT_PUSH.exec(body);
  if (boot !== null) {
    const [, protocol = "", firmware = "", cause = "", bootCount] = boot;
    return { kind: "boot", protocol, firmware, cause, bootCount: Number(bootCount) };
  }
  const [, word, list = ""] = /^(TRIP|DEAD|OFF) ([\d,]+)$/.exec(body) ?? [];
  const numbers = readNumbers(list);
  if (word === undefined || numbers === null) return null;
  if (word === "TRIP") return readTrip(numbers);
  const [atMs] = numbers;
  if (atMs === undefined || numbers.length !== 1) return null;
  return word === "DEAD" ? { kind: "dead-man", atMs } : { kind: "off", atMs };
}

/** `0` for none since cleared, or the first trip. */
export function readTripState(answer: string): PushedLine | "none" | null {
  if (answer === "0") return "none";
  const numbers = readNumbers(answer);
  return numbers === null ? null : readTrip(numbers);
}

function readTrip(numbers: readonly number[]): PushedLine | null {
  const [channel, code, atMs] = numbers;
  if (channel === undefined || code === undefined || atMs === undefined) return null;
  return numbers.length === 3 ? { kind: "trip", channel, code, atMs } : null;
}

export function readIdentity(answer: string): IdentityAnswer | null {
  const [maker, model, serial, firmware, ...rest] = answer.split(",");
  if (!maker || !model || !serial || !firmware || rest.length > 0) return null;
  return { maker, model, serial, firmware };
}

export function readBoot(answer: string): BootAnswer | null {
  const [, cause, bootCount, sinceResetMs] = /^([A-Z]+),(\d+),(\d+)$/.exec(answer) ?? [];
  if (cause === undefined) return null;
  return { cause, bootCount: Number(bootCount), sinceResetMs: Number(sinceResetMs) };
}

export function readCapability(answer: string): CapabilityAnswer | null {
  const [protocol, outputs, channels, samplesMax, channelsPerRead] = readNumbers(answer) ?? [];
  if (
    protocol === undefined ||
    outputs === undefined ||
    channels === undefined ||
    !samplesMax ||
    !channelsPerRead
  ) {
    return null;
  }
  return { protocol, outputs, channels, samplesMax, channelsPerRead };
}

/** `scan` and the code of each rail channel, channel 1 first. */
export function readRailScan(answer: string): { scan: number; codes: number[] } | null {
  const [scan, ...codes] = readNumbers(answer) ?? [];
  if (scan === undefined || scan > 0xffff || codes.length !== 6) return null;
  return codes.every((code) => code <= CODE_MAX) ? { scan, codes } : null;
}

/** `scan` and the codes of one rail channel, oldest first; none before the first scan. */
export function readRailTrail(answer: string): { scan: number; codes: number[] } | null {
  const [scan, ...codes] = readNumbers(answer) ?? [];
  if (scan === undefined || scan > 0xffff || codes.length > TRAIL_SCANS_MAX) return null;
  return codes.every((code) => code <= CODE_MAX) ? { scan, codes } : null;
}

/**
 * `<sum>:<min>:<max>,...` for the channels asked, in order.
 *
 * Sums that cannot come from `count` codes between min and max are refused: no reading is better
 * than a false one.
 */
export function readCodes(
  answer: string,
  asked: { readonly channels: readonly string[]; readonly count: number },
): RawReading[] | null {
  const fields = answer.split(",");
  if (fields.length !== asked.channels.length) return null;
  const readings: RawReading[] = [];
  for (const [index, channel] of asked.channels.entries()) {
    const [, sumText, minText, maxText] = /^(\d+):(\d+):(\d+)$/.exec(fields[index] ?? "") ?? [];
    if (sumText === undefined) return null;
    const [sum, min, max] = [Number(sumText), Number(minText), Number(maxText)];
    const possible = min <= max && max <= CODE_MAX;
    if (!possible || sum < min * asked.count || sum > max * asked.count) return null;
    readings.push({ channel, sum, count: asked.count, min, max });
  }
  return readings;
}

/** `<code>,...`, one conversion a channel. */
export function readSingleCodes(answer: string, channels: readonly string[]): RawReading[] | null {
  const codes = readNumbers(answer);
  if (codes === null || codes.length !== channels.length) return null;
  if (codes.some((code) => code > CODE_MAX)) return null;
  return channels.map((channel, index) => {
    const code = codes[index] ?? 0;
    return { channel, sum: code, count: 1, min: code, max: code };
  });
}

/** `1,0,...` as booleans. */
export function readStates(answer: string, count: number): boolean[] | null {
  const states = answer.split(",");
  if (states.length !== count || states.some((state) => state !== "0" && state !== "1"))
    return null;
  return states.map((state) => state === "1");
}

const ZERO = 0x30;
const NINE = 0x39;
const COMMA = 0x2c;

/** Unsigned integers with commas between them; read by hand, as every scan of a night comes through here. */
function readNumbers(answer: string): number[] | null {
  const numbers: number[] = [];
  let number = 0;
  let begin = 0;
  for (let at = 0; at <= answer.length; at += 1) {
    const code = at === answer.length ? COMMA : answer.charCodeAt(at);
    if (code >= ZERO && code <= NINE) {
      number = 10 * number + code - ZERO;
    } else {
      if (code !== COMMA || at === begin) return null;
      numbers.push(number);
      number = 0;
      begin = at + 1;
    }
  }
  return numbers;
}
