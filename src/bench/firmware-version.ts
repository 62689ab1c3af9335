/** The firmware that ships with this program, and how another one compares. */

/** As in firmware-protocol/firmware/core/version.h; a test holds the two together. */
export const FIRMWARE_VERSION = "1.2.0";

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
