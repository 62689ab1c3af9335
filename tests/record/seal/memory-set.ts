/** A sealed set in memory: the record of a healthy run, with its journal and a file beside. */

import { createPrivateKey } from "node:crypto";
import { foldJournal } from "../../../src/journal/fold.ts";
import type { AcceptanceRecord, Release } from "../../../src/record/acceptance-record.ts";
import { buildRecord } from "../../../src/record/build-record.ts";
import { PageFold } from "../../../src/record/page/page-facts.ts";
import { releasedRecord } from "../../../src/record/release-record.ts";
import { recordFiles } from "../../../src/record/seal/derived-files.ts";
import { type SealKey, sealKeyOf } from "../../../src/record/seal/seal-key.ts";
import { sealSet } from "../../../src/record/seal/seal-set.ts";
import type { SetFiles } from "../../../src/record/seal/set-files.ts";
import { guardedEvents } from "../../journal/guarded-run.ts";
import { writeRun } from "../../journal/write-run.ts";
import rfc8037 from "../../references/seal/rfc-8037.json" with { type: "json" };

export type Contents = Map<string, Uint8Array>;

export function filesOf(contents: ReadonlyMap<string, Uint8Array>): SetFiles {
  return {
    names: [...contents.keys()].sort(),
    *pieces(name) {
      const bytes = contents.get(name);
      if (bytes === undefined) throw new Error(`no ${name}`);
      // In two pieces, as a long file comes.
      const half = Math.ceil(bytes.length / 2);
      yield Uint8Array.from(bytes.subarray(0, half));
      yield Uint8Array.from(bytes.subarray(half));
    },
  };
}

async function keyOf(d: string): Promise<SealKey> {
  const secret = createPrivateKey({ key: { ...rfc8037.privateKey, d }, format: "jwk" });
  const key = await sealKeyOf(secret.export({ type: "pkcs8", format: "pem" }).toString());
  if (typeof key === "string") throw new Error(key);
  return key;
}

/** The key of RFC 8037, appendix A. */
export const publishedKey = await keyOf(rfc8037.privateKey.d);
/** Another one; its seed is no secret either. */
export const otherKey = await keyOf(Buffer.alloc(32, 7).toString("base64url"));

export const journalBytes = writeRun(guardedEvents(13.8, "conditional pass")).bytes;
export const draft: AcceptanceRecord = buildRecord(
  writeRun(guardedEvents(13.8, "conditional pass")).entries,
);

export const release: Release = {
  by: "Keeper",
  at: "2026-05-03T08:00:00.000+00:00",
  program: "holdfast 0.1.0",
  key: publishedKey.thumbprint,
  corrects: null,
  notAttached: [],
};

const { entries } = writeRun(guardedEvents(13.8, "conditional pass"));
const pageFold = new PageFold();
for (const entry of entries) pageFold.take(entry);
const pageFacts = pageFold.facts(foldJournal(entries));

/** Data of another page as a page would be: lines of no meaning here, longer than a block. */
const page = Array.from({ length: 300 }, (_, row) => `<tr><td>${row}<td>${Math.sin(row)}</tr>\n`);

/** What is to be sealed. */
export function unsealed(record: AcceptanceRecord): Contents {
  return new Map<string, Uint8Array>([
    ["journal.ndjson", journalBytes],
    ...recordFiles(record, pageFacts),
    ["page.html", Buffer.from(page.join(""))],
    ["files/board.yaml", Buffer.from("format: holdfast-board\nversion: 1\n")],
  ]);
}

export async function sealedWith(contents: Contents, key: SealKey): Promise<Contents> {
  return new Map([...contents, ...(await sealSet(filesOf(contents), key))]);
}

export const genuine: ReadonlyMap<string, Uint8Array> = await sealedWith(
  unsealed(releasedRecord(draft, release, 1)),
  publishedKey,
);
