/** The firmware that ships with this program, and how another one compares. */

/** As in firmware-protocol/firmware/core/version.h; a test holds the two together. */
export const FIRMWARE_VERSION = "1.2.0";

/** What the shipped one says to `SYST:CAP:LIST?` (firmware-protocol/PROTOCOL.md, section 5), in words. */
const ABILITIES: Readonly<Record<string, string>> = {
  TRAIL: "newest scans of a rail",
  ONCE: "single conversions",
  SPREAD: "spread of an average",
  STEP: "steps",
  BLOCK: "blocks of steps",
  PULSE: "pulses",
  STAGGER: "staggered edges",
  TRAIN: "trains of readings",
  BURST: "bursts",
  STORE: "a kept rig",
  COUNT: "counted closings",
  STACK: "a watched stack",
};

/** In words, what the shipped firmware can do and one with these abilities cannot. */
export function missingAbilities(abilities: readonly string[]): string[] {
  return Object.entries(ABILITIES).flatMap(([name, words]) =>
    abilities.includes(name) ? [] : [words],
  );
}

/** Against the shipped one; `unknown` for what is no version of three numbers. */
export function compareFirmware(firmware: string): "same" | "older" | "newer" | "unknown" {
  const [theirs, ours] = [numbersOf(firmware), numbersOf(FIRMWARE_VERSION)];
  if (theirs === null || ours === null) return "unknown";
  for (const [at, our] of ours.entries()) {
    const their = theirs[at] ?? 0;
    if (their !== our) return their < our ? "older" : "newer";
  }
  return "same";
}

function numbersOf(version: string): number[] | null {
  return /^\d+\.\d+\.\d+$/.test(version) ? version.split(".").map(Number) : null;
}
