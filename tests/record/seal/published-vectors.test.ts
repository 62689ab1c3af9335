/** The libraries behind the seal against what the standards publish, and against a second way to it. */
import { createPrivateKey, sign, verify } from "node:crypto";
import { CompactSign, compactVerify } from "jose";
import { describe, expect, it } from "vitest";
import { canonicalJson } from "../../../src/record/seal/canonical-json.ts";
import { publicKeyOfJwk, sealKeyOf } from "../../../src/record/seal/seal-key.ts";
import rfc8037 from "../../references/seal/rfc-8037.json" with { type: "json" };
import rfc8785 from "../../references/seal/rfc-8785.json" with { type: "json" };

function double(bits: string): number {
  return Buffer.from(bits, "hex").readDoubleBE(0);
}

describe("canonicalJson(value), by RFC 8785", () => {
  it("gives the bytes of the example in 3.2.2 to 3.2.4", () => {
    const text = canonicalJson(JSON.parse(rfc8785.example.input));
    expect(Buffer.from(text).toString("hex")).toBe(rfc8785.example.utf8Hex);
  });

  it("sorts members by UTF-16 code unit as in 3.2.3", () => {
    const value: Record<string, string> = JSON.parse(rfc8785.sorting.input);
    expect(Object.values(JSON.parse(canonicalJson(value)))).not.toEqual([]);
    const places = rfc8785.sorting.order.map((word) => canonicalJson(value).indexOf(`"${word}"`));
    expect(places).toEqual([...places].sort((one, other) => one - other));
    expect(places).not.toContain(-1);
    // A second way to the order: two bytes big-endian a unit compare as the units do.
    const units = (name: string) => Buffer.from(name, "utf16le").swap16();
    const sorted = Object.keys(value).sort((one, other) => units(one).compare(units(other)));
    expect(sorted.map((name) => value[name])).toEqual(rfc8785.sorting.order);
  });

  it.each(rfc8785.numbers)(
    "writes the double $ieee754 as $json, by appendix B",
    ({ ieee754, json }) => {
      expect(canonicalJson(double(ieee754))).toBe(json);
      expect(Number(json)).toBe(double(ieee754) + 0);
    },
  );

  it.each(rfc8785.refused)("refuses $is, by appendix B", ({ ieee754 }) => {
    expect(() => canonicalJson([double(ieee754)])).toThrow();
  });

  it("refuses a lone surrogate and nothing at all, by 3.2.2.2", () => {
    expect(() => canonicalJson({ by: "\ud83d" })).toThrow();
    expect(() => canonicalJson(undefined)).toThrow(/that JSON carries/);
  });
});

describe("the key and the signature of RFC 8037, appendix A", () => {
  const secret = createPrivateKey({ key: rfc8037.privateKey, format: "jwk" });

  it("has the thumbprint of A.3 as its name", async () => {
    const key = await publicKeyOfJwk(rfc8037.privateKey);
    expect(key?.thumbprint).toBe(rfc8037.thumbprint);
    const pem = secret.export({ type: "pkcs8", format: "pem" }).toString();
    expect(await sealKeyOf(pem)).toMatchObject({ thumbprint: rfc8037.thumbprint, pem: key?.pem });
  });

  it("signs as in A.4, by the library and by node:crypto", async () => {
    const jws = await new CompactSign(Buffer.from(rfc8037.payload))
      .setProtectedHeader(JSON.parse(rfc8037.header))
      .sign(secret);
    expect(jws).toBe(`${rfc8037.signingInput}.${rfc8037.signature}`);
    const raw = sign(null, Buffer.from(rfc8037.signingInput), secret);
    expect(raw.toString("base64url")).toBe(rfc8037.signature);
  });

  it("is verified as in A.5, and not once a bit is another", async () => {
    const key = await publicKeyOfJwk({ x: rfc8037.privateKey.x });
    if (key === null) throw new Error("expected a key");
    const { payload } = await compactVerify(
      `${rfc8037.signingInput}.${rfc8037.signature}`,
      key.key,
    );
    expect(Buffer.from(payload).toString()).toBe(rfc8037.payload);
    const signature = Buffer.from(rfc8037.signature, "base64url");
    const input = Buffer.from(rfc8037.signingInput);
    expect(verify(null, input, key.key, signature)).toBe(true);
    signature[10] = (signature[10] ?? 0) ^ 1;
    expect(verify(null, input, key.key, signature)).toBe(false);
    const spoilt = `${rfc8037.signingInput}.${signature.toString("base64url")}`;
    await expect(compactVerify(spoilt, key.key)).rejects.toThrow();
  });
});
