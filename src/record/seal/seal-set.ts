/** Files into a sealed set: the list of their blocks, the list of their hashes, and its seal. */
import { hash } from "node:crypto";
import { blockBytesFor, blocksText, digestOf, type FileDigest } from "./file-digest.ts";
import { makeSeal } from "./make-seal.ts";
import type { SealKey } from "./seal-key.ts";
import { BLOCKS, type SetFiles } from "./set-files.ts";
import { isSetName, sumsText } from "./sums.ts";

/**
 * @param files every file that is to be sealed, and no other
 * @returns what is to be put beside them, by name
 * @throws RangeError when a file has a name that not every tool takes
 */
export async function sealSet(
  files: SetFiles,
  key: SealKey,
): Promise<ReadonlyMap<string, Uint8Array>> {
  const odd = files.names.find((name) => !isSetName(name));
  if (odd !== undefined) {
    throw new RangeError(
      `Expected a file name of plain ASCII without \\ or : to seal, got "${odd}". Call it otherwise.`,
    );
  }
  const digests = digestsOf(files, files.names);
  const blocks = Buffer.from(blocksText(digests));
  const sums = new Map([...digests].map(([name, { sha256 }]) => [name, sha256]));
  sums.set(BLOCKS, hash("sha256", blocks, "hex"));
  const seal = await makeSeal(sumsText(sums), key);
  return new Map<string, Uint8Array>([[BLOCKS, blocks], ...seal]);
}

/** Digests by name, sorted, each in the blocks that a file of its size has. */
export function digestsOf(files: SetFiles, names: readonly string[]): Map<string, FileDigest> {
  return new Map(
    [...names].sort().map((name) => {
      const blockBytes = blockBytesFor(sizeOf(files, name));
      return [name, digestOf(files.pieces(name), blockBytes)];
    }),
  );
}

function sizeOf(files: SetFiles, name: string): number {
  let size = 0;
  for (const piece of files.pieces(name)) size += piece.length;
  return size;
}
