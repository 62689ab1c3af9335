/** A changed file of a set, told as a place: bytes, line and column, member of a record. */
import type { FileDigest } from "./file-digest.ts";
import { type Change, findChange, firstDifference } from "./find-change.ts";
import { type Finding, finding } from "./finding.ts";
import { pointerAt } from "./json-place.ts";
import { bytesAt, RECORD, type SetFiles, wholeFile } from "./set-files.ts";

/** A record is some tens of kilobytes; a member of one beyond this is not looked for. */
const RECORD_BYTES_MAX = 64 * 1024 * 1024;
const LF = 0x0a;

export interface ChangedFile {
  readonly name: string;
  readonly now: FileDigest;
  /** As the list of blocks has it; null when that list cannot be relied on. */
  readonly sealed: Omit<FileDigest, "sha256"> | null;
  /** The sealed bytes, where they could be made again and proved by their hash. */
  readonly truth: Uint8Array | null;
}

export function placeChange(files: SetFiles, changed: ChangedFile): Finding {
  const { name } = changed;
  const change = changeOf(files, changed);
  if (change === null) {
    return finding("changed", name, `${name} was changed. Where cannot be said.`);
  }
  const { first, last } = change;
  const { line, column } = lineAndColumn(files, name, first);
  const pointer = name === RECORD ? memberOf(files, change) : null;
  const member = pointer === null ? "" : `, in ${pointer === "" ? "the whole" : pointer}`;
  const where =
    first === last
      ? `byte ${first + 1} (line ${line}, column ${column}${member})${valueWords(files, name, change)}`
      : `within bytes ${first + 1} to ${last + 1} (from line ${line}, column ${column}${member})`;
  const text = `${name} was changed: ${where}.`;
  const bytes = { first: first + 1, last: last + 1 };
  return finding("changed", name, text, { line, bytes, pointer });
}

/** The member of the record that the change lies in: what holds both ends of it where it spans several. */
function memberOf(files: SetFiles, { first, last }: Change): string {
  const json = wholeFile(files, RECORD, RECORD_BYTES_MAX);
  const from = pointerAt(json, first).split("/");
  const to = pointerAt(json, last).split("/");
  const parting = from.findIndex((step, index) => step !== to[index]);
  return (parting < 0 ? from : from.slice(0, parting)).join("/");
}

function changeOf(files: SetFiles, { name, now, sealed, truth }: ChangedFile): Change | null {
  if (truth !== null) {
    const is = wholeFile(files, name, Math.max(truth.length, now.size) + 1);
    const at = firstDifference(truth, is);
    const was = truth.length === is.length && at !== null ? (truth[at] ?? null) : null;
    return at === null ? null : { first: at, last: at, was };
  }
  if (sealed === null) return null;
  return findChange(sealed, now, (from, length) => bytesAt(files, name, { from, length }));
}

function valueWords(files: SetFiles, name: string, { first, was }: Change): string {
  const [is] = bytesAt(files, name, { from: first, length: 1 });
  if (is === undefined) return ": what follows is cut off";
  return was === null ? "" : `: it was ${byteText(was)} and is ${byteText(is)}`;
}

/** Letters as letters, the rest in hex. */
function byteText(value: number): string {
  return value > 0x20 && value < 0x7f
    ? `"${String.fromCharCode(value)}"`
    : `hex ${value.toString(16).padStart(2, "0")}`;
}

/** Counted from 1; a column counts bytes. */
function lineAndColumn(
  files: SetFiles,
  name: string,
  offset: number,
): { readonly line: number; readonly column: number } {
  let line = 1;
  let lineFrom = 0;
  let at = 0;
  for (const piece of files.pieces(name)) {
    const until = Math.min(piece.length, offset - at);
    for (let end = piece.indexOf(LF); end !== -1 && end < until; end = piece.indexOf(LF, end + 1)) {
      line += 1;
      lineFrom = at + end + 1;
    }
    at += piece.length;
    if (at >= offset) break;
  }
  return { line, column: offset - lineFrom + 1 };
}
