/** Keys of a seal: Ed25519, named by the thumbprint of the public one. @source RFC 8037; RFC 7638 */
import { createPrivateKey, createPublicKey, type KeyObject } from "node:crypto";
import { calculateJwkThumbprint } from "jose";

export interface PublicKey {
  readonly key: KeyObject;
  /** As it stands in the seal's header. */
  readonly jwk: { readonly kty: "OKP"; readonly crv: "Ed25519"; readonly x: string };
  /** SHA-256 thumbprint, base64url: how a key is named everywhere. */
  readonly thumbprint: string;
  /** The key as a PEM file of its own, LF at the end. */
  readonly pem: string;
}

export interface SealKey extends PublicKey {
  readonly secret: KeyObject;
}

export type KeyTextError = "no key" | "another kind of key" | "locked by a password";

/** A public key from PEM text; of a private one its public half. */
export async function publicKeyOf(pem: string): Promise<PublicKey | KeyTextError> {
  const refusal = refusalOf(pem);
  if (refusal !== null) return refusal;
  try {
    return await publicPart(createPublicKey(pem));
  } catch {
    // The library's reasons are about encodings; the file is what the person can look at.
    return "no key";
  }
}

/** A private key from PEM text, with its public half. */
export async function sealKeyOf(pem: string): Promise<SealKey | KeyTextError> {
  const refusal = refusalOf(pem);
  if (refusal !== null) return refusal;
  try {
    const secret = createPrivateKey(pem);
    const found = await publicPart(createPublicKey(secret));
    return typeof found === "string" ? found : { ...found, secret };
  } catch {
    // As above.
    return "no key";
  }
}

/** @param jwk the value of a seal's `jwk`, which nobody has vouched for yet */
export async function publicKeyOfJwk(jwk: unknown): Promise<PublicKey | null> {
  if (typeof jwk !== "object" || jwk === null || !("x" in jwk) || typeof jwk.x !== "string") {
    return null;
  }
  try {
    const key = createPublicKey({ key: { kty: "OKP", crv: "Ed25519", x: jwk.x }, format: "jwk" });
    const found = await publicPart(key);
    return typeof found === "string" ? null : found;
  } catch {
    // An x of another length or alphabet is no key.
    return null;
  }
}

function refusalOf(pem: string): KeyTextError | null {
  if (/ENCRYPTED/.test(pem)) return "locked by a password";
  return /-----BEGIN [A-Z ]*KEY-----/.test(pem) ? null : "no key";
}

async function publicPart(key: KeyObject): Promise<PublicKey | KeyTextError> {
  if (key.asymmetricKeyType !== "ed25519") return "another kind of key";
  const { x } = key.export({ format: "jwk" });
  if (x === undefined) return "no key";
  const jwk = { kty: "OKP", crv: "Ed25519", x } as const;
  const thumbprint = await calculateJwkThumbprint(jwk, "sha256");
  return { key, jwk, thumbprint, pem: key.export({ type: "spki", format: "pem" }).toString() };
}
