/**
 * The files of a sealed set, wherever they lie, and what each is called.
 *
 * `SHA256SUMS` lists every file of the set but itself and the four that seal it. Its bytes are the
 * payload of the JSON Web Signature in `seal.jws`; `seal.input` is what was signed, `seal.sig` the
 * signature as 64 raw bytes and `key.pem` the public key, for those who have no tool for JWS at hand.
 */

export interface SetFiles {
  /** Every file of the set, with "/" between folders, sorted. */
  readonly names: readonly string[];
  /**
   * Bytes in pieces, each in memory of its own.
   *
   * @throws the system's error when the file is not there, no plain file, or cannot be read
   */
  pieces(name: string): Iterable<Uint8Array>;
}

export const SUMS = "SHA256SUMS";
/** Where to look for a change; listed in SHA256SUMS as any other file. */
export const BLOCKS = "SHA256BLOCKS";
export const RECORD = "record.json";
export const RECORD_SHEET = "record.txt";
export const RECORD_PAGE = "record.html";
export const JOURNAL = "journal.ndjson";
export const SEAL_JWS = "seal.jws";
export const SEAL_INPUT = "seal.input";
export const SEAL_SIGNATURE = "seal.sig";
export const SEAL_KEY = "key.pem";

/** Files that seal the others, and are held to one another. */
export const SEAL_FILES = [SUMS, SEAL_JWS, SEAL_INPUT, SEAL_SIGNATURE, SEAL_KEY] as const;
export type SealFile = (typeof SEAL_FILES)[number];

/** A file that is small beyond doubt; what is larger is cut there, and cannot be what it should be. */
export function wholeFile(files: SetFiles, name: string, bytesMax: number): Uint8Array {
  const pieces: Uint8Array[] = [];
  let size = 0;
  for (const piece of files.pieces(name)) {
    pieces.push(piece);
    size += piece.length;
    if (size > bytesMax) break;
  }
  return Buffer.concat(pieces).subarray(0, bytesMax);
}

/** Bytes of a file from an offset on, as many as there are up to `length`. */
export function bytesAt(
  files: SetFiles,
  name: string,
  { from, length }: { readonly from: number; readonly length: number },
): Uint8Array {
  const found: Uint8Array[] = [];
  let at = 0;
  for (const piece of files.pieces(name)) {
    if (at + piece.length > from) {
      found.push(piece.subarray(Math.max(0, from - at), from + length - at));
    }
    at += piece.length;
    if (at >= from + length) break;
  }
  return Buffer.concat(found);
}
