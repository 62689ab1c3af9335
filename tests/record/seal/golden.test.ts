/**
 * A sealed set of each version that was ever written stays here and stays valid: its bytes are of their
 * day and are never made anew. The key is the one that RFC 8037 publishes.
 */
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { verifySet } from "../../../src/record/seal/verify-set.ts";
import { openSetFolder } from "../../../src/store/set-folder.ts";
import rfc8037 from "../../references/seal/rfc-8037.json" with { type: "json" };

const kept = fileURLToPath(new URL("../../golden/sealed/version-1", import.meta.url));
let copy = "";
beforeEach(() => {
  copy = mkdtempSync(join(tmpdir(), "holdfast-golden-"));
  cpSync(kept, copy, { recursive: true });
});
afterEach(() => {
  rmSync(copy, { recursive: true, force: true });
});

describe("the sealed set of version 1", () => {
  it("is as it was sealed, by the published key", async () => {
    const { findings, key, record } = await verifySet(openSetFolder(kept), { known: [] });
    expect(findings).toEqual([]);
    expect(key?.thumbprint).toBe(rfc8037.thumbprint);
    expect(record).toMatchObject({
      version: 3,
      status: "released",
      verdict: "conditional pass",
      release: { by: "Keeper", at: "2026-05-03T08:00:00.000+00:00" },
    });
  });

  it.each(openSetFolder(kept).names)(
    "does not verify with a byte of %s changed anywhere",
    async (name) => {
      const path = join(copy, name);
      const bytes = readFileSync(path);
      for (let at = 0; at < bytes.length; at += Math.ceil(bytes.length / 8)) {
        const changed = Uint8Array.from(bytes);
        changed[at] = (changed[at] ?? 0) ^ 4;
        writeFileSync(path, changed);
        const { findings } = await verifySet(openSetFolder(copy), { known: [] });
        expect(findings.map(({ file }) => file)).toEqual([name]);
      }
    },
  );
});
