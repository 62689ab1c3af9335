import { generateKeyPairSync } from "node:crypto";
import { chmodSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { Bench } from "./run-folder.ts";

let bench: Bench;
beforeEach(() => {
  bench = new Bench();
});
afterEach(() => {
  bench.dispose();
});

function mode(path: string): string {
  return (statSync(path).mode & 0o777).toString(8);
}

describe("keyCommand: make", () => {
  it("makes a pair of which nobody else can read the secret half", async () => {
    const { status, out } = await bench.key("make", "cabin");
    expect(status).toBe(0);
    expect(out).toMatch(/Key cabin is made: [\w-]{43}/);
    expect(mode(bench.keys)).toBe("700");
    expect(mode(join(bench.keys, "cabin.secret.pem"))).toBe("600");
    expect(out).not.toContain(
      readFileSync(join(bench.keys, "cabin.secret.pem"), "utf8").split("\n")[1],
    );
  });

  it("writes over no key, and takes no name that leads out of the folder", async () => {
    await bench.key("make", "cabin");
    const before = readFileSync(join(bench.keys, "cabin.secret.pem"), "utf8");
    await expect(bench.key("make", "cabin")).rejects.toThrow(/never written over/);
    expect(readFileSync(join(bench.keys, "cabin.secret.pem"), "utf8")).toBe(before);
    await expect(bench.key("make", "../cabin")).rejects.toThrow(/got "..\/cabin"/);
  });
});

describe("keyCommand: list, show, accept", () => {
  it("lists own, lost and accepted keys by their names and thumbprints", async () => {
    expect((await bench.key("list")).out).toContain("no key yet");
    await bench.key("make", "cabin");
    await bench.key("make", "old");
    rmSync(join(bench.keys, "old.secret.pem"));
    const other = new Bench();
    await other.key("make", "theirs");
    await bench.key("accept", "museum", join(other.keys, "theirs.public.pem"));
    other.dispose();
    const { out } = await bench.key("list");
    expect(out).toMatch(/cabin \(own\)/);
    expect(out).toMatch(/museum \(accepted\)/);
    expect(out).toMatch(/old \(own, secret half lost\)/);
  });

  it("shows a public half that can be handed on", async () => {
    await bench.key("make", "cabin");
    const { out } = await bench.key("show", "cabin");
    expect(out).toContain("-----BEGIN PUBLIC KEY-----");
    expect(out).not.toContain("PRIVATE");
    await expect(bench.key("show", "caben")).rejects.toThrow(/there is cabin/);
  });

  it("accepts the public half of a key and keeps no secret of it", async () => {
    await bench.key("make", "cabin");
    await bench.key("accept", "copy", join(bench.keys, "cabin.secret.pem"));
    expect(readFileSync(join(bench.keys, "copy.accepted.pem"), "utf8")).not.toContain("PRIVATE");
  });

  it("says what a file of another kind is, and what may be asked for", async () => {
    const path = join(bench.root, "rsa.pem");
    const { publicKey } = generateKeyPairSync("rsa", {
      modulusLength: 2048,
      publicKeyEncoding: { type: "spki", format: "pem" },
      privateKeyEncoding: { type: "pkcs8", format: "pem" },
    });
    writeFileSync(path, publicKey);
    await expect(bench.key("accept", "rsa", path)).rejects.toThrow(/another kind of key/);
    await expect(bench.key("forge", "rsa")).rejects.toThrow(/key make NAME, key list/);
    await expect(bench.key("make")).rejects.toThrow(/key make NAME, key list/);
  });
});

describe("a key that cannot seal", () => {
  it("is refused when others can read it, or its folder, with what to do", async () => {
    await bench.key("make", "cabin");
    const path = join(bench.keys, "cabin.secret.pem");
    chmodSync(path, 0o640);
    await expect(bench.release()).rejects.toThrow(/rights 640.*chmod 600/);
    chmodSync(path, 0o600);
    chmodSync(bench.keys, 0o755);
    await expect(bench.release()).rejects.toThrow(/rights 755.*chmod 700/);
  });

  it("is told as lost when only its public half is there", async () => {
    await bench.key("make", "cabin");
    rmSync(join(bench.keys, "cabin.secret.pem"));
    await expect(bench.release()).rejects.toThrow(/secret half of key cabin is gone/);
  });

  it("is told when there is none, several, or none of that name", async () => {
    await expect(bench.release()).rejects.toThrow(/holdfast key make NAME/);
    await bench.key("make", "cabin");
    await bench.key("make", "bench");
    await expect(bench.release()).rejects.toThrow(/--key-name NAME with one of bench, cabin/);
    await expect(bench.release({ keyName: "deck" })).rejects.toThrow(/got bench, cabin/);
    expect((await bench.release({ keyName: "bench" })).status).toBe(0);
  });

  it("is told when it is of another kind or has a password", async () => {
    await bench.key("make", "cabin");
    const path = join(bench.keys, "cabin.secret.pem");
    const { privateKey } = generateKeyPairSync("ed25519");
    const locked = privateKey.export({
      type: "pkcs8",
      format: "pem",
      cipher: "aes-256-cbc",
      passphrase: "lightvessel",
    });
    writeFileSync(path, locked);
    await expect(bench.release()).rejects.toThrow(/locked by a password/);
    const other = generateKeyPairSync("x25519").privateKey;
    writeFileSync(path, other.export({ type: "pkcs8", format: "pem" }));
    await expect(bench.release()).rejects.toThrow(/another kind of key/);
    writeFileSync(path, "spilled tea\n");
    await expect(bench.release()).rejects.toThrow(/got no key/);
  });
});
