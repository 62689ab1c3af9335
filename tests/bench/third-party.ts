/**
 * A record sealed in this run, verified by OpenSSL and sha256sum with the commands of docs/records.md
 * as they stand there, and refused by them once a byte is another; and the published vectors of
 * RFC 8785 and RFC 8037, the signature of the latter by OpenSSL too.
 */
import { spawnSync } from "node:child_process";
import { createPrivateKey, createPublicKey } from "node:crypto";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { CompactSign } from "jose";
import { canonicalJson } from "../../src/record/seal/canonical-json.ts";
import { publicKeyOf } from "../../src/record/seal/seal-key.ts";
import { openSetFolder } from "../../src/store/set-folder.ts";
import rfc8037 from "../references/seal/rfc-8037.json" with { type: "json" };
import rfc8785 from "../references/seal/rfc-8785.json" with { type: "json" };
import type { FigureContext } from "./figure.ts";
import { releasedRun } from "./seal/released-run.ts";
import { verifyWithoutThisProgram } from "./seal/without-this-program.ts";

export async function figure({ report, say }: FigureContext): Promise<void> {
  const version = spawnSync("openssl", ["version"], { encoding: "utf8" }).stdout?.trim() ?? "";
  say(version === "" ? "OpenSSL is not installed" : version);
  const place = mkdtempSync(join(tmpdir(), "holdfast-third-party-"));
  const run = await releasedRun("flasher-latch", 3);
  try {
    const set = join(place, "set");
    cpSync(run.folder, set, { recursive: true });
    const told = verifyWithoutThisProgram(set);
    say(told.output);
    const key = await publicKeyOf(readFileSync(join(set, "key.pem"), "utf8"));
    const names = typeof key !== "string" && told.output.includes(key.thumbprint);
    count("a record of this run verifies and its key is named", told.ok && names ? 1 : 0, 1);
    const refused = openSetFolder(set).names.filter((name) => isRefused(set, name));
    count(
      "a changed byte is refused, file by file",
      refused.length,
      openSetFolder(set).names.length,
    );
    count("RFC 8037 A.4 signature by OpenSSL", byOpenssl(place) ? 1 : 0, 1);
    count("RFC 8037 A.4 signature by the library", (await byLibrary()) ? 1 : 0, 1);
    count("RFC 8785 numbers of appendix B", numbersThatHold(), rfc8785.numbers.length);
    count("RFC 8785 examples of 3.2", examplesThatHold(), 2);
  } finally {
    run.dispose();
    rmSync(place, { recursive: true, force: true });
  }

  function count(name: string, value: number, all: number): void {
    report({
      name: `third-party ${name}`,
      value,
      unit: `of ${all}`,
      limit: `= ${all}`,
      holds: value === all,
    });
  }
}

function isRefused(set: string, name: string): boolean {
  const path = join(set, name);
  const before = readFileSync(path);
  const changed = Uint8Array.from(before);
  const at = Math.floor(changed.length / 2);
  changed[at] = (changed[at] ?? 0) ^ 1;
  writeFileSync(path, changed);
  const { ok } = verifyWithoutThisProgram(set);
  writeFileSync(path, before);
  return !ok;
}

function byOpenssl(place: string): boolean {
  const { x } = rfc8037.privateKey;
  const key = createPublicKey({ key: { kty: "OKP", crv: "Ed25519", x }, format: "jwk" });
  const [pem, input, signature] = ["rfc.pem", "rfc.input", "rfc.sig"].map((one) =>
    join(place, one),
  );
  if (pem === undefined || input === undefined || signature === undefined) return false;
  writeFileSync(pem, key.export({ type: "spki", format: "pem" }));
  writeFileSync(input, rfc8037.signingInput);
  writeFileSync(signature, Buffer.from(rfc8037.signature, "base64url"));
  const { status } = spawnSync("openssl", [
    ...["pkeyutl", "-verify", "-rawin", "-pubin", "-inkey", pem],
    ...["-in", input, "-sigfile", signature],
  ]);
  return status === 0;
}

async function byLibrary(): Promise<boolean> {
  const jws = await new CompactSign(Buffer.from(rfc8037.payload))
    .setProtectedHeader(JSON.parse(rfc8037.header))
    .sign(createPrivateKey({ key: rfc8037.privateKey, format: "jwk" }));
  return jws === `${rfc8037.signingInput}.${rfc8037.signature}`;
}

function numbersThatHold(): number {
  return rfc8785.numbers.filter(
    ({ ieee754, json }) => canonicalJson(Buffer.from(ieee754, "hex").readDoubleBE(0)) === json,
  ).length;
}

function examplesThatHold(): number {
  const example = Buffer.from(canonicalJson(JSON.parse(rfc8785.example.input))).toString("hex");
  const sorted = canonicalJson(JSON.parse(rfc8785.sorting.input));
  const order = [...sorted.matchAll(/:"([^"]*)"/g)].map(([, word]) => word);
  return [
    example === rfc8785.example.utf8Hex,
    order.join() === rfc8785.sorting.order.join(),
  ].filter(Boolean).length;
}
