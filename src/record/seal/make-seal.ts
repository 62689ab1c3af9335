/** Seals a list of files: a JSON Web Signature by Ed25519, and its parts as files of their own. */
import { CompactSign } from "jose";
import type { SealKey } from "./seal-key.ts";
import {
  SEAL_INPUT,
  SEAL_JWS,
  SEAL_KEY,
  SEAL_SIGNATURE,
  type SealFile,
  SUMS,
} from "./set-files.ts";

/** Value of `typ` in the seal's header. */
export const SEAL_TYPE = "holdfast-seal";
/** Value of `version` in the seal's header; a later program may seal otherwise. */
export const SEAL_VERSION = 1;
/** As RFC 8037 names it. */
export const SEAL_ALGORITHM = "EdDSA";

/**
 * @param sums the text of SHA256SUMS, which is what is signed
 * @source RFC 7515, 7.1 (compact serialization) and 5.1 (signing input)
 */
export async function makeSeal(
  sums: string,
  key: SealKey,
): Promise<ReadonlyMap<SealFile, Uint8Array>> {
  const jws = await new CompactSign(Buffer.from(sums))
    .setProtectedHeader({
      alg: SEAL_ALGORITHM,
      typ: SEAL_TYPE,
      version: SEAL_VERSION,
      kid: key.thumbprint,
      jwk: { ...key.jwk },
    })
    .sign(key.secret);
  const end = jws.lastIndexOf(".");
  return new Map<SealFile, Uint8Array>([
    [SUMS, Buffer.from(sums)],
    [SEAL_JWS, Buffer.from(jws)],
    [SEAL_INPUT, Buffer.from(jws.slice(0, end))],
    [SEAL_SIGNATURE, Buffer.from(jws.slice(end + 1), "base64url")],
    [SEAL_KEY, Buffer.from(key.pem)],
  ]);
}
