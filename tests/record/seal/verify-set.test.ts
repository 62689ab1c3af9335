/** A set that was tampered with: each way has its own finding, at its place. */
import { describe, expect, it } from "vitest";
import { releasedRecord } from "../../../src/record/release-record.ts";
import { canonicalJson } from "../../../src/record/seal/canonical-json.ts";
import type { Finding } from "../../../src/record/seal/finding.ts";
import { sumsText } from "../../../src/record/seal/sums.ts";
import { verifySet } from "../../../src/record/seal/verify-set.ts";
import {
  type Contents,
  draft,
  filesOf,
  genuine,
  journalBytes,
  otherKey,
  publishedKey,
  release,
  sealedWith,
  unsealed,
} from "./memory-set.ts";

function text(contents: ReadonlyMap<string, Uint8Array>, name: string): string {
  return Buffer.from(contents.get(name) ?? []).toString("utf8");
}

async function found(change: (contents: Contents) => void): Promise<readonly Finding[]> {
  const contents = new Map(genuine);
  change(contents);
  return (await verifySet(filesOf(contents), { known: [] })).findings;
}

/** One finding, and its place. */
async function only(change: (contents: Contents) => void): Promise<Finding> {
  const [first, ...more] = await found(change);
  expect(more).toEqual([]);
  if (first === undefined) throw new Error("expected a finding");
  return first;
}

function edit(contents: Contents, name: string, from: string, to: string): number {
  const before = text(contents, name);
  expect(before).toContain(from);
  contents.set(name, Buffer.from(before.replace(from, to)));
  return before.indexOf(from);
}

const lines = journalBytes.toString("utf8").split(/(?<=\n)/);

describe("a set as it was sealed", () => {
  it("is found so, with its record and the key that sealed it", async () => {
    const verdict = await verifySet(filesOf(genuine), { known: [] });
    expect(verdict.findings).toEqual([]);
    expect(verdict.key?.thumbprint).toBe(publishedKey.thumbprint);
    expect(verdict.record).toMatchObject({ status: "released", release: { by: "Keeper" } });
    expect(verdict.count).toBe(7);
  });

  it("carries a number that says which journal it is of", async () => {
    const { record } = await verifySet(filesOf(genuine), { known: [] });
    expect(record?.number).toBe(`20260502-${record?.journal.lastHash.slice(0, 8)}-1`);
  });
});

describe("a changed file", () => {
  it("is told to the byte, line and column, with what stood there", async () => {
    let at = 0;
    const one = await only((contents) => {
      at = edit(contents, "page.html", "<td>7<td>", "<td>8<td>");
    });
    const byte = at + "<td>".length + 1;
    expect(one).toMatchObject({ kind: "changed", file: "page.html", line: 8 });
    expect(one.bytes).toEqual({ first: byte, last: byte });
    expect(one.text).toContain('it was "7" and is "8"');
  });

  it("of which a byte was taken out or put in is told to the byte too", async () => {
    const out = await only((contents) => {
      edit(contents, "files/board.yaml", "version", "verson");
    });
    expect(out.bytes).toEqual({ first: 28, last: 28 });
    const put = await only((contents) => {
      edit(contents, "files/board.yaml", "version", "versiion");
    });
    expect(put.bytes).toEqual({ first: 29, last: 29 });
  });

  it("in more than one place is told within a block of the first", async () => {
    let at = 0;
    const one = await only((contents) => {
      at = edit(contents, "page.html", "<td>20<td>", "<th>21<th>");
    });
    const { first = 0, last = 0 } = one.bytes ?? {};
    expect(first).toBeLessThanOrEqual(at + 2);
    expect(last).toBeGreaterThanOrEqual(at + 2);
    expect(last - first).toBeLessThan(64);
  });

  it("that is a page drawn from the record is told by drawing it again", async () => {
    const one = await only((contents) => {
      edit(contents, "record.txt", "CONDITIONAL PASS", "PASS");
    });
    expect(one).toMatchObject({ file: "record.txt", line: 1, bytes: { first: 1, last: 1 } });
  });

  it("that is a page drawn from record and journal is told by drawing it again", async () => {
    let at = 0;
    const one = await only((contents) => {
      at = edit(contents, "record.html", "Verdict: conditional pass", "Verdict: pass");
    });
    const byte = at + "Verdict: ".length + 1;
    expect(one).toMatchObject({ file: "record.html", bytes: { first: byte, last: byte } });
  });

  it("that only says where to look is told as well", async () => {
    const one = await only((contents) => {
      edit(contents, "SHA256BLOCKS", "files/board.yaml", "files/boart.yaml");
    });
    expect(one).toMatchObject({ kind: "changed", file: "SHA256BLOCKS", line: 3 });
  });
});

describe("a changed record", () => {
  it.each([
    ["a verdict", '"verdict":"conditional pass"', '"verdict":"pass"', "/verdict"],
    ["a unit", '"unit":"FL-07"', '"unit":"FL-08"', "/unit"],
    ["a limit deep inside", '"vohV":36', '"vohV":35', "/rule/contract/vohV"],
    ["who released it, by a letter", '"by":"Keeper"', '"by":"Keepar"', "/release/by"],
    ["who released it, by a word", '"by":"Keeper"', '"by":"Kepler"', "/release"],
  ])("tells the member: %s", async (_, from, to, pointer) => {
    const one = await only((contents) => {
      edit(contents, "record.json", from, to);
    });
    expect(one).toMatchObject({ kind: "changed", file: "record.json", pointer });
    expect(one.text).toContain(pointer);
  });

  it("that holds the same data in another writing is changed all the same", async () => {
    const one = await only((contents) => {
      const pretty = JSON.stringify(JSON.parse(text(contents, "record.json")), null, 2);
      contents.set("record.json", Buffer.from(pretty));
    });
    expect(one).toMatchObject({ kind: "changed", file: "record.json" });
  });

  it("sealed anew by another key is whole, and by a key that is not the one asked for", async () => {
    const forged = await sealedWith(
      unsealed(
        releasedRecord({ ...draft, verdict: "pass" }, { ...release, key: otherKey.thumbprint }, 1),
      ),
      otherKey,
    );
    const anybody = await verifySet(filesOf(forged), { known: [publishedKey] });
    expect(anybody.findings).toEqual([]);
    expect(anybody.key?.thumbprint).toBe(otherKey.thumbprint);
    const asked = await verifySet(filesOf(forged), { known: [], asked: publishedKey });
    expect(asked.findings).toMatchObject([{ kind: "wrong key" }]);
  });

  it("that is a draft, names another key, or has another's number is none, however well it is sealed", async () => {
    const findingsOf = async (record: typeof draft) => {
      const contents = await sealedWith(unsealed(record), publishedKey);
      return (await verifySet(filesOf(contents), { known: [] })).findings;
    };
    const fit = releasedRecord(draft, release, 1);
    expect(await findingsOf(draft)).toMatchObject([
      { pointer: "/release" },
      { pointer: "/number" },
    ]);
    const named = { ...fit, release: { ...release, key: otherKey.thumbprint } };
    expect(await findingsOf(named)).toMatchObject([{ pointer: "/release/key" }]);
    expect(await findingsOf({ ...fit, number: "20260502-00000000-1" })).toMatchObject([
      { pointer: "/number" },
    ]);
  });

  it("of a later version is told as that", async () => {
    const later = { ...releasedRecord(draft, release, 1), version: 4 as 3 };
    const contents = await sealedWith(unsealed(later), publishedKey);
    const { findings } = await verifySet(filesOf(contents), { known: [] });
    expect(findings).toMatchObject([{ kind: "newer", file: "record.json" }]);
  });
});

describe("a changed journal", () => {
  const put = (contents: Contents, changed: readonly string[]) =>
    contents.set("journal.ndjson", Buffer.from(changed.join("")));

  it("names the line that was altered", async () => {
    const one = await only((contents) => {
      put(contents, lines.with(6, (lines[6] ?? "").replace('"n":6', '"n":7')));
    });
    expect(one).toMatchObject({ kind: "changed", file: "journal.ndjson", line: 7 });
  });

  it("that is cut says from which line on it is lost", async () => {
    const one = await only((contents) => {
      put(contents, lines.slice(0, -3));
    });
    expect(one).toMatchObject({ kind: "journal", line: lines.length - 2 });
    expect(one.text).toContain("is cut");
  });

  it("that is cut within a line says so", async () => {
    const one = await only((contents) => {
      contents.set("journal.ndjson", journalBytes.subarray(0, -20));
    });
    expect(one).toMatchObject({ kind: "journal", line: lines.length });
  });

  it("in another order names the first line that is out of it", async () => {
    const one = await only((contents) => {
      put(contents, lines.with(9, lines[10] ?? "").with(10, lines[9] ?? ""));
    });
    expect(one).toMatchObject({ kind: "journal", line: 10 });
  });

  it("with more lines than were sealed says from which on", async () => {
    const one = await only((contents) => {
      contents.set("journal.ndjson", Buffer.concat([journalBytes, Buffer.from("{")]));
    });
    expect(one).toMatchObject({ kind: "journal", line: lines.length + 1 });
  });

  it("of another run, whole in itself, is told as written anew", async () => {
    const { writeRun } = await import("../../journal/write-run.ts");
    const { guardedEvents } = await import("../../journal/guarded-run.ts");
    const other = writeRun(guardedEvents(9.8, "pass")).bytes;
    const one = await only((contents) => {
      contents.set("journal.ndjson", other);
    });
    expect(one.kind).toBe("journal");
    expect(one.text).toContain("written anew");
    expect(one.line).toBeGreaterThan(0);
  });

  it("that was sealed with a record that is not its own is told", async () => {
    const record = releasedRecord(draft, release, 1);
    const { journal } = record;
    const contents = await sealedWith(
      unsealed({ ...record, journal: { ...journal, lines: journal.lines - 1 } }),
      publishedKey,
    );
    const { findings } = await verifySet(filesOf(contents), { known: [] });
    expect(findings).toMatchObject([{ kind: "journal", file: "journal.ndjson" }]);
  });
});

describe("files that come and go", () => {
  it("are named: one missing, one added", async () => {
    const gone = await only((contents) => contents.delete("page.html"));
    expect(gone).toMatchObject({ kind: "missing", file: "page.html" });
    const more = await only((contents) => contents.set("notes.txt", Buffer.from("x")));
    expect(more).toMatchObject({ kind: "extra", file: "notes.txt" });
  });

  it("are named once when one was only called otherwise", async () => {
    const one = await only((contents) => {
      contents.set("seite.html", contents.get("page.html") ?? Buffer.from(""));
      contents.delete("page.html");
    });
    expect(one).toMatchObject({ kind: "missing", file: "page.html" });
    expect(one.text).toContain("seite.html");
  });

  it("that were exchanged for one another are both changed", async () => {
    const both = await found((contents) => {
      const [one, other] = [contents.get("page.html"), contents.get("record.txt")];
      contents.set("page.html", other ?? Buffer.from("")).set("record.txt", one ?? Buffer.from(""));
    });
    expect(both.map(({ kind, file }) => [kind, file])).toEqual([
      ["changed", "page.html"],
      ["changed", "record.txt"],
    ]);
  });

  it("without any seal are a draft", async () => {
    const one = await only((contents) => {
      for (const name of ["SHA256SUMS", "seal.jws", "seal.input", "seal.sig", "key.pem"]) {
        contents.delete(name);
      }
    });
    expect(one.kind).toBe("not sealed");
  });
});

describe("a changed seal", () => {
  it.each(["seal.jws", "seal.input", "seal.sig", "key.pem", "SHA256SUMS"])(
    "tells which byte of %s, whichever it is",
    async (name) => {
      const size = genuine.get(name)?.length ?? 0;
      for (let at = 0; at < size; at += Math.ceil(size / 40)) {
        const one = await only((contents) => {
          const bytes = Uint8Array.from(contents.get(name) ?? []);
          bytes[at] = (bytes[at] ?? 0) ^ 1;
          contents.set(name, bytes);
        });
        expect(one.file).toBe(name);
        // A key with another letter may be another key: then that is what is told.
        if (one.kind === "changed") expect(one.bytes).toEqual({ first: at + 1, last: at + 1 });
        else expect([one.kind, name]).toEqual(["wrong key", "key.pem"]);
      }
    },
  );

  it.each(["seal.jws", "seal.input", "seal.sig", "key.pem", "SHA256SUMS"])(
    "without %s is told as a missing part, and the rest still holds",
    async (name) => {
      const one = await only((contents) => contents.delete(name));
      expect(one).toMatchObject({ kind: "missing", file: name });
    },
  );

  it("with another key beside it is told as a wrong key", async () => {
    const one = await only((contents) => contents.set("key.pem", Buffer.from(otherKey.pem)));
    expect(one).toMatchObject({ kind: "wrong key", file: "key.pem" });
    expect(one.text).toContain(otherKey.thumbprint);
  });

  it("whose list was made anew for a changed file is found in both", async () => {
    const both = await found((contents) => {
      edit(contents, "record.txt", "FL-07", "FL-08");
      const sums = new Map<string, string>();
      for (const line of text(contents, "SHA256SUMS").trim().split("\n")) {
        const [sha256 = "", name = ""] = line.split("  ");
        sums.set(name, name === "record.txt" ? "0".repeat(64) : sha256);
      }
      contents.set("SHA256SUMS", Buffer.from(sumsText(sums)));
    });
    expect(both.map(({ file }) => file)).toEqual(["SHA256SUMS", "record.txt"]);
  });

  it("of which nothing holds together is no seal", async () => {
    const one = await only((contents) => {
      contents.set("seal.sig", Buffer.alloc(64));
      edit(contents, "seal.jws", text(contents, "seal.jws").slice(-86), "A".repeat(86));
    });
    expect(one).toMatchObject({ kind: "wrong key", file: "seal.jws" });
  });

  it("of a later version, or that no holdfast made, is told as that", async () => {
    const { CompactSign } = await import("jose");
    const sealedAs = async (typ: string, version: number) => {
      const contents = new Map(genuine);
      const jws = await new CompactSign(genuine.get("SHA256SUMS") ?? Buffer.from(""))
        .setProtectedHeader({ alg: "EdDSA", typ, version, kid: publishedKey.thumbprint })
        .sign(publishedKey.secret);
      const end = jws.lastIndexOf(".");
      contents.set("seal.jws", Buffer.from(jws));
      contents.set("seal.input", Buffer.from(jws.slice(0, end)));
      contents.set("seal.sig", Buffer.from(jws.slice(end + 1), "base64url"));
      return (await verifySet(filesOf(contents), { known: [] })).findings;
    };
    expect(await sealedAs("holdfast-seal", 2)).toMatchObject([{ kind: "newer" }]);
    expect(await sealedAs("another", 1)).toMatchObject([{ kind: "changed", file: "seal.jws" }]);
  });
});

describe("a record read for its seal", () => {
  it("is canonical: the bytes on disk are those of RFC 8785", () => {
    const json = text(genuine, "record.json");
    expect(json).toBe(canonicalJson(JSON.parse(json)));
    expect(json.endsWith("}")).toBe(true);
  });
});
