/** Options of the emulated bench that several commands share. */
import type { PartChange } from "../simulate/fixture.ts";
import { UsageError } from "./usage-error.ts";

const PACE_MAX = 10_000;
const SEED_MAX = 0xffff_ffff;

/** @throws UsageError */
export function readSeed(text: string): number {
  const seed = Number(text);
  if (!/^\d+$/.test(text) || !Number.isSafeInteger(seed) || seed > SEED_MAX) {
    throw new UsageError(`Expected --seed as a whole number from 0 to ${SEED_MAX}, got "${text}".`);
  }
  return seed;
}

/** @throws UsageError */
export function readPace(text: string): number {
  const pace = Number(text);
  if (text.trim() === "" || !Number.isFinite(pace) || pace <= 0 || pace > PACE_MAX) {
    throw new UsageError(
      `Expected --pace as a number above 0, at most ${PACE_MAX} (1 is real time), got "${text}".`,
    );
  }
  return pace;
}

/**
 * `PART.PARAMETER=VALUE`, and `@MS` for a moment of emulated time.
 *
 * @throws UsageError
 */
export function readFault(text: string): PartChange {
  const match = /^(?<part>.+)\.(?<parameter>\w+)=(?<value>[^@]+)(?:@(?<at>\d+))?$/.exec(text);
  const value = Number(match?.groups?.["value"]);
  const part = match?.groups?.["part"];
  const parameter = match?.groups?.["parameter"];
  if (part === undefined || parameter === undefined || !Number.isFinite(value)) {
    throw new UsageError(
      `Expected --fault as PART.PARAMETER=VALUE or PART.PARAMETER=VALUE@MS, got "${text}".`,
    );
  }
  const at = match?.groups?.["at"];
  return { part, parameter, value, atMs: at === undefined ? null : Number(at) };
}
