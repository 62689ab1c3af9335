/**
 * A file that is there whole or not at all: written beside its place, synced, renamed into it, and
 * its folder synced, so that a power cut leaves the old one or the new one.
 */
import { closeSync, fsyncSync, openSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { dirname } from "node:path";
import { syncFolder } from "../journal/journal-file.ts";

/**
 * @throws the system's error; then nothing is left beside and what stood there stands
 */
export function writeFileAtomically(path: string, text: string): void {
  const beside = `${path}.new`;
  try {
    const file = openSync(beside, "w", 0o644);
    try {
      writeFileSync(file, text);
      fsyncSync(file);
    } finally {
      closeSync(file);
    }
    renameSync(beside, path);
  } catch (error) {
    rmSync(beside, { force: true });
    throw error;
  }
  syncFolder(dirname(path));
}
