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
  const digests = new Map<string, FileDigest>();
  for (const name of [...files.names].sort()) {
    if (!isSetName(name)) {
      throw new RangeError(
        `Expected a file name of plain ASCII without \\ or : to seal, got "${name}". Call it otherwise.`,
      );
    }
    digests.set(name, digestOf(files.pieces(name), blockBytesFor(sizeOf(files, name))));
  }
  const blocks = Buffer.from(blocksText(digests));
  const sums = new Map([...digests].map(([name, { sha256 }]) => [name, sha256]));
  sums.set(BLOCKS, hash("sha256", blocks, "hex"));
  const seal = await makeSeal(sumsText(sums), key);
  return new Map<string, Uint8Array>([[BLOCKS, blocks], ...seal]);
}

function sizeOf(files: SetFiles, name: string): number {
  let size = 0;
  for (const piece of files.pieces(name)) size += piece.length;
  return size;
}
