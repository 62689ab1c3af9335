/** Chance that repeats: numbers from 0 up to 1, the same for the same seed. */
import { createHash } from "node:crypto";

const BYTES = 6;

export function seededChance(seed: number | string): () => number {
  let drawn = 0;
  return () => {
    drawn += 1;
    const digest = createHash("sha256").update(`${seed}:${drawn}`).digest();
    return digest.readUIntBE(0, BYTES) / 2 ** (8 * BYTES);
  };
}
