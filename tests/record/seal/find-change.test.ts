import { describe, expect, it } from "vitest";
import {
  blockBytesFor,
  blocksText,
  digestOf,
  parseBlocks,
} from "../../../src/record/seal/file-digest.ts";
import { findChange, firstDifference } from "../../../src/record/seal/find-change.ts";

/** Two blocks and a bit, with rows of one letter in them. */
const sealed = Buffer.from(
  "the lamp is lit at dusk, and the fog signal aaaaaaaaaa sounds twice a minute; bbbbbb and the watch keeps both until morning cccccc.",
);
const blockBytes = blockBytesFor(sealed.length);

function found(now: Uint8Array) {
  return findChange(digestOf([sealed], blockBytes), digestOf([now], blockBytes), (from, length) =>
    now.subarray(from, from + length),
  );
}

describe("findChange(sealed, now, read)", () => {
  it("names the byte of one that was changed, wherever it is, and what it was", () => {
    for (let at = 0; at < sealed.length; at += 1) {
      const now = Uint8Array.from(sealed);
      now[at] = (now[at] ?? 0) ^ 0x55;
      expect(found(now)).toEqual({ first: at, last: at, was: sealed[at] });
    }
  });

  it("names the place from which on the rest has moved, of a byte put in or taken out", () => {
    for (let at = 0; at < sealed.length; at += 1) {
      const before = sealed.subarray(0, at);
      const put = Buffer.concat([before, Buffer.from("a"), sealed.subarray(at)]);
      const out = Buffer.concat([before, sealed.subarray(at + 1)]);
      for (const now of [put, out]) {
        const place = firstDifference(sealed, now);
        expect(found(now)).toEqual({ first: place, last: place, was: null });
      }
    }
  });

  it("bounds the first of many changes by its block", () => {
    const now = Uint8Array.from(sealed);
    now.fill(0, 70, 90);
    expect(found(now)).toEqual({ first: 64, last: 127, was: null });
  });

  it("says where a file was cut, or goes on beyond its end", () => {
    expect(found(sealed.subarray(0, 128))).toEqual({ first: 128, last: 128, was: null });
    const longer = Buffer.concat([sealed, Buffer.from(" And more.")]);
    expect(found(longer)?.first).toBeLessThanOrEqual(sealed.length);
    expect(found(longer)?.last).toBeGreaterThanOrEqual(sealed.length - 1);
  });

  it("finds nothing in what is the same", () => {
    expect(found(Uint8Array.from(sealed))).toBeNull();
  });
});

describe("the digest of a file", () => {
  it("is the same in whatever pieces it comes", () => {
    const whole = digestOf([sealed], blockBytes);
    for (const size of [1, 7, 63, 64, 65, 128]) {
      const pieces = Array.from({ length: Math.ceil(sealed.length / size) }, (_, index) =>
        sealed.subarray(index * size, (index + 1) * size),
      );
      expect(digestOf(pieces, blockBytes)).toEqual(whole);
    }
  });

  it("has blocks of 64 bytes up to 256 KiB, and never more than 4096 of them", () => {
    expect([0, 1, 262_144].map(blockBytesFor)).toEqual([64, 64, 64]);
    expect(blockBytesFor(262_145)).toBe(128);
    expect(512 * 1024 * 1024).toBeLessThanOrEqual(blockBytesFor(512 * 1024 * 1024) * 4096);
  });

  it("comes back from its list, an empty file too, and lines of no sense are left out", () => {
    const digests = new Map([
      ["#1.txt", digestOf([sealed], blockBytes)],
      ["empty", digestOf([], blockBytes)],
    ]);
    const text = blocksText(digests);
    const read = parseBlocks(text);
    expect([...read.keys()]).toEqual(["#1.txt", "empty"]);
    const { sha256: _, ...facts } = digests.get("#1.txt") ?? { sha256: "" };
    expect(read.get("#1.txt")).toEqual(facts);
    expect(parseBlocks("#\n#\nx\ty\tz\nabc\n").size).toBe(0);
  });
});
