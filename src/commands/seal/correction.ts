/** The record that a new one takes the place of. */
import { join } from "node:path";
import type { Correction } from "../../record/acceptance-record.ts";
import { RECORD } from "../../record/seal/set-files.ts";
import { verifySet } from "../../record/seal/verify-set.ts";
import { openSetFolder } from "../../store/set-folder.ts";
import { UsageError } from "../usage-error.ts";
import { namedRecord, releasedFolders } from "./released-folders.ts";

/**
 * @returns null where nothing is corrected
 * @throws UsageError when the old record is not as it was sealed, when no reason is given, or when this
 *   run was released before and another record than its newest is named
 */
export async function correctionOf(
  run: string,
  asked: { readonly corrects: string | undefined; readonly why: string | null },
): Promise<Correction | null> {
  const newest = releasedFolders(run).at(-1)?.path ?? null;
  const { corrects: path, why } = asked;
  if (path === undefined) {
    if (why !== null)
      throw new UsageError("Expected --corrects RECORD beside --why, to know what is corrected.");
    if (newest === null) return null;
    throw new UsageError(
      `Expected a run that was not released yet, ${newest} is there. A released record is never written over; to correct it: --corrects ${newest} --why TEXT.`,
    );
  }
  if (why === null)
    throw new UsageError("Expected --why TEXT beside --corrects: a correction says why.");
  const old = await oldRecord(path);
  if (newest === null) return { ...old, why };
  const { number } = await oldRecord(newest);
  if (number === old.number) return { ...old, why };
  throw new UsageError(
    `Expected the newest record of this run to be corrected, ${number} in ${newest}, got ${old.number}. Name that one.`,
  );
}

async function oldRecord(path: string): Promise<Omit<Correction, "why">> {
  const named = namedRecord(path);
  if (named.kind !== "set") {
    throw new UsageError(
      `Expected a released record to correct, got "${path}": that is a run. Name its ${join(path, "released-1")}.`,
    );
  }
  const { findings, record, recordSha256 } = await verifySet(openSetFolder(named.folder), {
    known: [],
  });
  const [first] = findings;
  if (first !== undefined || record?.number == null || recordSha256 === null) {
    throw new UsageError(
      `Expected ${join(named.folder, RECORD)} as it was sealed, but: ${first?.text ?? "it has no number"} Find out what happened to it before it is corrected.`,
    );
  }
  return { number: record.number, sha256: recordSha256 };
}
