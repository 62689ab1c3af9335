/**
 * Where a file differs from what was sealed. The sealed bytes are gone; what is left of them is their
 * number and the beginnings of the hashes of their blocks. The first block that differs bounds the
 * place; where one byte was changed, put in or taken out, trying them all names it.
 */
import { blockDigest, type FileDigest } from "./file-digest.ts";

export interface Change {
  /** Offsets from 0: the first byte that may differ and the last. The same where it is known. */
  readonly first: number;
  readonly last: number;
  /** What stood there, where one byte was changed for another. */
  readonly was: number | null;
}

type Sealed = Omit<FileDigest, "sha256">;

/** Blocks up to this are searched for the very byte: some 65 000 hashes. */
const SEARCH_BYTES_MAX = 256;
const BYTE_VALUES = 256;

/**
 * @param read gives bytes of the file as it is now
 * @returns null when every block agrees: then the list of blocks is not that of the sealed file
 */
export function findChange(
  sealed: Sealed,
  now: Sealed,
  read: (from: number, length: number) => Uint8Array,
): Change | null {
  const { blockBytes } = sealed;
  const block = sealed.blocks.findIndex((digest, index) => now.blocks[index] !== digest);
  if (block < 0) {
    if (sealed.size >= now.size) return null;
    return { first: sealed.size, last: now.size - 1, was: null };
  }
  const from = block * blockBytes;
  if (now.size <= from) return { first: now.size, last: now.size, was: null };
  const digest = sealed.blocks[block] ?? "";
  const length = Math.min(blockBytes, sealed.size - from);
  const grown = now.size - sealed.size;
  const found =
    length > SEARCH_BYTES_MAX || Math.abs(grown) > 1
      ? null
      : singleEdit(digest, length, read(from, length + grown));
  if (found === null) return { first: from, last: from + length - 1, was: null };
  return { first: from + found.at, last: from + found.at, was: found.was };
}

/** First byte at which two contents differ; null when they are the same. */
export function firstDifference(one: Uint8Array, other: Uint8Array): number | null {
  const length = Math.min(one.length, other.length);
  for (let at = 0; at < length; at += 1) if (one[at] !== other[at]) return at;
  return one.length === other.length ? null : length;
}

/**
 * The one byte by which a block differs from one of `length` bytes with that digest. Of several places
 * that explain it, as in a row of the same letter, the last: there the contents part.
 */
function singleEdit(
  digest: string,
  length: number,
  now: Uint8Array,
): { readonly at: number; readonly was: number | null } | null {
  if (now.length === length) return replacedByte(digest, now);
  if (now.length === length + 1) {
    for (let at = length; at >= 0; at -= 1) {
      const without = Buffer.concat([now.subarray(0, at), now.subarray(at + 1)]);
      if (blockDigest(without) === digest) return { at, was: null };
    }
  }
  if (now.length === length - 1) return removedByte(digest, now);
  return null;
}

function replacedByte(digest: string, now: Uint8Array): ReturnType<typeof singleEdit> {
  const trial = Uint8Array.from(now);
  for (let at = 0; at < trial.length; at += 1) {
    const is = trial[at] ?? 0;
    for (let value = 0; value < BYTE_VALUES; value += 1) {
      trial[at] = value;
      if (value !== is && blockDigest(trial) === digest) return { at, was: value };
    }
    trial[at] = is;
  }
  return null;
}

function removedByte(digest: string, now: Uint8Array): ReturnType<typeof singleEdit> {
  const trial = new Uint8Array(now.length + 1);
  for (let at = now.length; at >= 0; at -= 1) {
    trial.set(now.subarray(0, at));
    trial.set(now.subarray(at), at + 1);
    for (let value = 0; value < BYTE_VALUES; value += 1) {
      trial[at] = value;
      if (blockDigest(trial) === digest) return { at, was: null };
    }
  }
  return null;
}
