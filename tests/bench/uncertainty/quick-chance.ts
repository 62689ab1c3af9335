/** Chance by the hundred thousand: xorshift128 seeded by hashing, and normal values of it. */
import { createHash } from "node:crypto";

export interface Chance {
  /** From 0 up to 1. */
  unit(): number;
  /** From -1 up to 1. */
  either(): number;
  normal(): number;
}

export function quickChance(seed: string): Chance {
  const digest = createHash("sha256").update(seed).digest();
  let [a, b, c, d] = [0, 4, 8, 12].map((at) => digest.readUInt32LE(at)) as [
    number,
    number,
    number,
    number,
  ];
  const unit = () => {
    const t = a ^ (a << 11);
    a = b;
    b = c;
    c = d;
    d = d ^ (d >>> 19) ^ t ^ (t >>> 8);
    return (d >>> 0) / 2 ** 32;
  };
  return {
    unit,
    either: () => 2 * unit() - 1,
    normal: () => Math.sqrt(-2 * Math.log(1 - unit())) * Math.cos(2 * Math.PI * unit()),
  };
}
