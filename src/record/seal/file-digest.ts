/**
 * What is known of a file's bytes: the SHA-256 that counts, and the beginnings of the SHA-256 of each
 * of its blocks, which count for nothing and say where to look when the whole is not as it was.
 */
import { createHash, hash } from "node:crypto";

/** 48 bits: two blocks that differ agree by chance once in 3e14. */
const BLOCK_HEX_DIGITS = 12;
const BLOCK_BYTES_MIN = 64;
/** Blocks a file has at most, so that the list of them stays small beside it. */
const BLOCKS_MAX = 4096;

export interface FileDigest {
  readonly sha256: string;
  readonly size: number;
  readonly blockBytes: number;
  readonly blocks: readonly string[];
}

/** Size of the blocks of a file: a power of two, 64 bytes up to a file of 256 KiB. */
export function blockBytesFor(size: number): number {
  let bytes = BLOCK_BYTES_MIN;
  while (bytes * BLOCKS_MAX < size) bytes *= 2;
  return bytes;
}

export function blockDigest(block: Uint8Array): string {
  return hash("sha256", block, "hex").slice(0, BLOCK_HEX_DIGITS);
}

export function digestOf(pieces: Iterable<Uint8Array>, blockBytes: number): FileDigest {
  const whole = createHash("sha256");
  const blocks: string[] = [];
  let size = 0;
  let rest: Uint8Array = new Uint8Array();
  for (const piece of pieces) {
    whole.update(piece);
    size += piece.length;
    const bytes = rest.length === 0 ? piece : Buffer.concat([rest, piece]);
    let at = 0;
    for (; at + blockBytes <= bytes.length; at += blockBytes) {
      blocks.push(blockDigest(bytes.subarray(at, at + blockBytes)));
    }
    rest = bytes.subarray(at);
  }
  if (rest.length > 0) blocks.push(blockDigest(rest));
  return { sha256: whole.digest("hex"), size, blockBytes, blocks };
}

const HEAD =
  "# Beginnings of the SHA-256 of each block, to find the place of a change. What counts is SHA256SUMS.\n" +
  "# Two lines a file: name, its bytes, bytes of a block; then its blocks in order.\n";

const HEAD_LINES = 2;

/** The text of SHA256BLOCKS. */
export function blocksText(digests: ReadonlyMap<string, FileDigest>): string {
  const lines = [...digests].map(
    ([name, { size, blockBytes, blocks }]) =>
      `${name}\t${size}\t${blockBytes}\n${blocks.join(" ")}\n`,
  );
  return HEAD + lines.join("");
}

/** Reads it back; what is not as it was written is left out, since it counts for nothing. */
export function parseBlocks(text: string): Map<string, Omit<FileDigest, "sha256">> {
  const found = new Map<string, Omit<FileDigest, "sha256">>();
  const lines = text.split("\n");
  for (let at = HEAD_LINES; at + 1 < lines.length; at += 2) {
    const [name, size, blockBytes] = lines[at]?.split("\t") ?? [];
    const blocks = lines[at + 1]?.split(" ").filter((one) => one !== "") ?? [];
    const facts = { size: Number(size), blockBytes: Number(blockBytes), blocks };
    if (name === undefined || !Number.isSafeInteger(facts.size) || !(facts.blockBytes > 0))
      continue;
    found.set(name, facts);
  }
  return found;
}
