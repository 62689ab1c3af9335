/** A released record in the hands of somebody who has no Holdfast. */
import { spawnSync } from "node:child_process";
import { createHash, verify } from "node:crypto";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import {
  documentedCommands,
  verifyWithoutThisProgram,
} from "../../bench/seal/without-this-program.ts";
import { Bench } from "./run-folder.ts";

/** OpenSSL of at least 3, as `.ci/run` installs it; the figure `third-party` fails without it. */
const openssl = spawnSync("openssl", ["version"], { encoding: "utf8" }).stdout ?? "";
const hasOpenssl = /^OpenSSL ([3-9]|\d\d)\./.test(openssl);

let bench: Bench;
let set = "";
beforeEach(async () => {
  bench = new Bench();
  await bench.key("make", "cabin");
  await bench.release();
  set = join(bench.run, "released-1");
});
afterEach(() => {
  bench.dispose();
});

function read(name: string): Buffer {
  return readFileSync(join(set, name));
}

describe("a released record", () => {
  it("has its signature, what was signed and the key as plain files", () => {
    expect(verify(null, read("seal.input"), read("key.pem"), read("seal.sig"))).toBe(true);
    const [, payload = ""] = read("seal.input").toString("latin1").split(".");
    expect(Buffer.from(payload, "base64url").equals(read("SHA256SUMS"))).toBe(true);
    for (const line of read("SHA256SUMS").toString("utf8").trim().split("\n")) {
      const [sha256, name = ""] = line.split("  ");
      expect(createHash("sha256").update(read(name)).digest("hex")).toBe(sha256);
    }
  });

  it.skipIf(!hasOpenssl)("verifies by the commands of docs/records.md as they stand there", () => {
    const { ok, output } = verifyWithoutThisProgram(set);
    expect(output).toContain("Signature Verified Successfully");
    expect(output).toContain("record.json: OK");
    expect(output).toContain("journal: OK");
    expect(ok).toBe(true);
  });

  it.skipIf(!hasOpenssl).each(["record.json", "SHA256SUMS", "seal.input", "seal.sig", "seal.jws"])(
    "is refused by them once a byte of %s is another",
    (name) => {
      const bytes = read(name);
      const at = Math.floor(bytes.length / 2);
      bytes[at] = (bytes[at] ?? 0) ^ 1;
      writeFileSync(join(set, name), bytes);
      expect(verifyWithoutThisProgram(set).ok).toBe(false);
    },
  );

  it("needs OpenSSL and the usual GNU tools, and nothing of this program", () => {
    expect(documentedCommands()).not.toMatch(/holdfast|node|npm/);
  });
});
