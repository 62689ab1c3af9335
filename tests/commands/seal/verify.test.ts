import { createPublicKey } from "node:crypto";
import { appendFileSync, cpSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import rfc8037 from "../../references/seal/rfc-8037.json" with { type: "json" };
import { Bench } from "./run-folder.ts";

/** The key of RFC 8037, appendix A.2. */
const publishedPem = createPublicKey({ key: rfc8037.privateKey, format: "jwk" })
  .export({ type: "spki", format: "pem" })
  .toString();

let bench: Bench;
let set = "";
beforeEach(async () => {
  bench = new Bench();
  await bench.key("make", "cabin");
  await bench.release({ by: "Ada" });
  set = join(bench.run, "released-1");
});
afterEach(() => {
  bench.dispose();
});

function edit(name: string, from: string, to: string): void {
  const path = join(set, name);
  const before = readFileSync(path, "utf8");
  expect(before).toContain(from);
  writeFileSync(path, before.replace(from, to));
}

describe("verifyCommand(path)", () => {
  it("of what is as it was sealed says so and by which of your keys: 0", async () => {
    for (const path of [set, bench.run, join(set, "record.json")]) {
      const { status, out, error } = await bench.verify(path);
      expect([status, error]).toEqual([0, ""]);
      expect(out).toMatch(
        /^Record 20260502-[0-9a-f]{8}-1: PASS, flasher-latch revision A, unit FL-07/,
      );
      expect(out).toContain("AS SEALED");
      expect(out).toContain("your key cabin");
    }
  });

  it("of a draft says that nothing seals it: 5", async () => {
    rmSync(set, { recursive: true });
    const { status, out } = await bench.verify(bench.run);
    expect(status).toBe(5);
    expect(out).toContain("is a draft");
  });

  it("knows a stranger's key only once it was accepted or named: 6, then 0", async () => {
    const elsewhere = join(bench.root, "elsewhere");
    const unknown = await bench.verify(set, { keys: elsewhere });
    expect(unknown.status).toBe(6);
    expect(unknown.out).toMatch(/a key you have not named, [\w-]{43}:/);
    const pem = join(set, "key.pem");
    const named = await bench.verify(set, { keys: elsewhere, key: pem });
    expect([named.status, named.out]).toEqual([0, expect.stringContaining("the key you named")]);
    bench.key("make", "other");
    await bench.key("accept", "museum", pem);
    rmSync(join(bench.keys, "cabin.public.pem"));
    const accepted = await bench.verify(set);
    expect([accepted.status, accepted.out]).toEqual([
      0,
      expect.stringContaining("accepted key museum"),
    ]);
  });

  it("of a set by another key than the one named says which: 7", async () => {
    await bench.key("make", "other");
    const { status, error } = await bench.verify(set, {
      key: join(bench.keys, "other.public.pem"),
    });
    expect(status).toBe(7);
    expect(error).toMatch(/Sealed by another key: expected [\w-]{43}, it is [\w-]{43}/);
  });

  it.each([
    [
      "a byte of the record",
      1,
      () => edit("record.json", '"verdict":"pass"', '"verdict":"fail"'),
      "in /verdict",
    ],
    ["a byte of a file beside", 1, () => edit("readings.csv", "9.8", "9.7"), "line 2, column 7"],
    ["a missing file", 8, () => rmSync(join(set, "readings.csv")), "readings.csv is missing"],
    [
      "an added file",
      9,
      () => writeFileSync(join(set, "notes.txt"), "x"),
      "notes.txt was never sealed",
    ],
    [
      "a journal that is cut",
      10,
      () =>
        edit(
          "journal.ndjson",
          readFileSync(join(set, "journal.ndjson"), "utf8")
            .split(/(?<=\n)/)
            .at(-1) ?? "",
          "",
        ),
      "journal.ndjson",
    ],
    [
      "another key beside it",
      7,
      () => writeFileSync(join(set, "key.pem"), publishedPem),
      "key.pem is another key (kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k)",
    ],
  ])("of %s says so, with status %i", async (_, status, change, words) => {
    change();
    const verdict = await bench.verify(set);
    expect(verdict.error).toContain(words);
    expect(verdict.out).toContain("NOT AS SEALED: one thing is");
    expect(verdict.status).toBe(status);
  });

  it("tells the run's own journal from the one that was released", async () => {
    appendFileSync(join(bench.run, "journal.ndjson"), "{");
    const { status, error } = await bench.verify(bench.run);
    expect(status).toBe(1);
    expect(error).toContain("is not the journal that was released");
    expect((await bench.verify(set)).status).toBe(0);
  });

  it("tells a record that was corrected, and one that corrects", async () => {
    await bench.release({ corrects: set, why: "the unit was FL-08" });
    const first = await bench.verify(set);
    expect(first.out).toMatch(
      /IT WAS CORRECTED by record 20260502-[0-9a-f]{8}-2.*the unit was FL-08/,
    );
    const second = await bench.verify(join(bench.run, "released-2"));
    expect(second.out).toMatch(/It corrects record 20260502-[0-9a-f]{8}-1: the unit was FL-08/);
  });

  it("holds for a copy anywhere, whatever lies beside it", async () => {
    const copy = join(bench.root, "handed on");
    cpSync(set, copy, { recursive: true });
    expect((await bench.verify(copy)).status).toBe(0);
  });

  it("follows no link out of the set", async () => {
    const path = join(set, "readings.csv");
    const kept = join(bench.root, "kept.csv");
    cpSync(path, kept);
    rmSync(path);
    symlinkSync(kept, path);
    await expect(bench.verify(set)).rejects.toThrow(/plain file/);
  });

  it("names what was given when there is nothing to verify", async () => {
    await expect(bench.verify(join(bench.root, "none"))).rejects.toThrow(/there is none/);
    await expect(bench.verify(bench.keys)).rejects.toThrow(/neither a seal nor a journal/);
    await expect(bench.verify(set, { key: join(set, "record.json") })).rejects.toThrow(
      /got no key/,
    );
    await expect(bench.verify(set, { key: join(set, "no.pem") })).rejects.toThrow(/Check the name/);
  });
});
