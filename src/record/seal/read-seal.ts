/**
 * A seal read back. What was signed, the signature and the key each stand in it more than once, so
 * that a change in one of its own files is named instead of spoiling the whole: the parts that hold
 * together are taken for the truth, and every file is held to them.
 */
import { compactVerify, errors } from "jose";
import { firstDifference } from "./find-change.ts";
import { type Finding, finding } from "./finding.ts";
import { SEAL_ALGORITHM, SEAL_TYPE, SEAL_VERSION } from "./make-seal.ts";
import { type PublicKey, publicKeyOf, publicKeyOfJwk } from "./seal-key.ts";
import {
  SEAL_FILES,
  SEAL_INPUT,
  SEAL_JWS,
  SEAL_KEY,
  SEAL_SIGNATURE,
  type SealFile,
  type SetFiles,
  SUMS,
  wholeFile,
} from "./set-files.ts";
import { parseSums } from "./sums.ts";

/** A set has a few dozen files; a list of them is never this long. */
const SEAL_BYTES_MAX = 1024 * 1024;

export interface ReadSeal {
  /** SHA-256 by name, as sealed; null when nothing holds together or it is of a later version. */
  readonly sums: ReadonlyMap<string, string> | null;
  /** The key that the seal holds for. */
  readonly key: PublicKey | null;
  readonly findings: readonly Finding[];
}

type Parts = ReadonlyMap<SealFile, Uint8Array>;

/** What holds together. */
interface Truth {
  /** ASCII: header and payload in base64url, parted by a dot. */
  readonly input: string;
  /** base64url */
  readonly signature: string;
  readonly key: PublicKey;
}

/** @param known keys that the caller knows: they are tried before those the set brings along */
export async function readSeal(files: SetFiles, known: readonly PublicKey[]): Promise<ReadSeal> {
  const present = SEAL_FILES.filter((name) => files.names.includes(name));
  if (present.length === 0) {
    const text =
      "Not sealed: there is no seal beside these files. What is not released is a draft.";
    return { sums: null, key: null, findings: [finding("not sealed", SUMS, text)] };
  }
  const parts: Parts = new Map(
    present.map((name) => [name, wholeFile(files, name, SEAL_BYTES_MAX)]),
  );
  const missing = SEAL_FILES.filter((name) => !present.includes(name)).map((name) =>
    finding("missing", name, `${name} is missing: it is a part of the seal.`),
  );
  const truth = await truthOf(parts, known);
  if (truth === null) {
    const text =
      "The signature does not hold: key, signature and what was signed do not belong together, in " +
      "none of the places where each of them stands. Ask for the set again from who released it.";
    return { sums: null, key: null, findings: [...missing, finding("wrong key", SEAL_JWS, text)] };
  }
  const { key } = truth;
  const refused = refusedHeader(truth);
  if (refused !== null) return { sums: null, key, findings: [...missing, refused] };
  const sums = parseSums(payloadOf(truth.input).toString("utf8"));
  const altered = await alteredParts(parts, truth);
  const foreign =
    sums === null
      ? [finding("changed", SUMS, `What was sealed is no list of files: no holdfast made it.`)]
      : [];
  return { sums, key, findings: [...missing, ...altered, ...foreign] };
}

async function truthOf(parts: Parts, known: readonly PublicKey[]): Promise<Truth | null> {
  const jws = ascii(parts.get(SEAL_JWS));
  const end = jws.lastIndexOf(".");
  const whole = [ascii(parts.get(SEAL_INPUT)), jws.slice(0, Math.max(0, end))];
  const headers = whole.map((input) => input.split(".")[0] ?? "");
  const payload = Buffer.from(parts.get(SUMS) ?? []).toString("base64url");
  const inputs = distinct([...whole, ...headers.map((header) => `${header}.${payload}`)]);
  const raw = parts.get(SEAL_SIGNATURE);
  const signatures = distinct([
    raw === undefined ? "" : Buffer.from(raw).toString("base64url"),
    jws.slice(end + 1),
  ]);
  const keys = await keysOf(parts, headers, known);
  for (const key of keys) {
    for (const input of inputs) {
      for (const signature of signatures) {
        if (await holds({ input, signature, key })) return { input, signature, key };
      }
    }
  }
  return null;
}

async function keysOf(
  parts: Parts,
  headers: readonly string[],
  known: readonly PublicKey[],
): Promise<PublicKey[]> {
  const members = headers.map(headerOf);
  const named = known.filter(({ thumbprint }) => members.some(({ kid }) => kid === thumbprint));
  const beside = await publicKeyOf(ascii(parts.get(SEAL_KEY)));
  const inside = await Promise.all(members.map(({ jwk }) => publicKeyOfJwk(jwk)));
  return [
    ...named,
    ...inside.filter((key) => key !== null),
    ...(typeof beside === "string" ? [] : [beside]),
  ];
}

async function holds({ input, signature, key }: Truth): Promise<boolean> {
  try {
    await compactVerify(`${input}.${signature}`, key.key, { algorithms: [SEAL_ALGORITHM] });
    return true;
  } catch (error) {
    if (error instanceof errors.JOSEError) return false;
    throw error;
  }
}

/** A header that is signed, and still none that this program knows. */
function refusedHeader({ input, key }: Truth): Finding | null {
  const { typ, version, kid } = headerOf(input.split(".")[0] ?? "");
  if (typ === SEAL_TYPE && typeof version === "number" && version > SEAL_VERSION) {
    const text = `The seal is of version ${version}, this program knows ${SEAL_VERSION}. Verify it with a newer holdfast.`;
    return finding("newer", SEAL_JWS, text);
  }
  if (typ === SEAL_TYPE && version === SEAL_VERSION && kid === key.thumbprint) return null;
  const text = `The signature holds, but its header is not one that holdfast writes: expected type ${SEAL_TYPE}, version ${SEAL_VERSION} and the name of the key.`;
  return finding("changed", SEAL_JWS, text);
}

/** Seal files that are not what those that hold together say they must be. */
async function alteredParts(parts: Parts, { input, signature, key }: Truth): Promise<Finding[]> {
  const must: ReadonlyMap<SealFile, Uint8Array> = new Map([
    [SUMS, payloadOf(input)],
    [
      SEAL_JWS,
      Buffer.from(`${input}.${Buffer.from(signature, "base64url").toString("base64url")}`),
    ],
    [SEAL_INPUT, Buffer.from(input)],
    [SEAL_SIGNATURE, Buffer.from(signature, "base64url")],
    [SEAL_KEY, Buffer.from(key.pem)],
  ]);
  const found: Finding[] = [];
  for (const [name, is] of parts) {
    const at = firstDifference(must.get(name) ?? Buffer.from(""), is);
    if (at === null) continue;
    const other = name === SEAL_KEY ? await publicKeyOf(ascii(is)) : null;
    if (other !== null && typeof other !== "string" && other.thumbprint !== key.thumbprint) {
      const text = `${SEAL_KEY} is another key (${other.thumbprint}) than the one that sealed this (${key.thumbprint}).`;
      found.push(finding("wrong key", name, text));
      continue;
    }
    const bytes = { first: at + 1, last: at + 1 };
    const text = `${name} was changed: it differs from byte ${at + 1} on. The rest of the seal shows what it was.`;
    found.push(
      finding("changed", name, text, { bytes, line: name === SUMS ? lineAt(is, at) : null }),
    );
  }
  return found;
}

function lineAt(bytes: Uint8Array, offset: number): number {
  return ascii(bytes.subarray(0, offset)).split("\n").length;
}

function payloadOf(input: string): Buffer {
  return Buffer.from(input.split(".")[1] ?? "", "base64url");
}

interface Header {
  readonly typ?: unknown;
  readonly version?: unknown;
  readonly kid?: unknown;
  readonly jwk?: unknown;
}

/** Members of a protected header; none where it is no JSON object. */
function headerOf(encoded: string): Header {
  try {
    const value: unknown = JSON.parse(Buffer.from(encoded, "base64url").toString("utf8"));
    return typeof value === "object" && value !== null ? value : {};
  } catch {
    // A spoilt header names no key; the one in the other place may.
    return {};
  }
}

function ascii(bytes: Uint8Array | undefined): string {
  return Buffer.from(bytes ?? []).toString("latin1");
}

function distinct(texts: readonly string[]): string[] {
  return [...new Set(texts)].filter((text) => text !== "");
}
