/** Bytes that are no text, or too many, are refused before anything reads them. */
import { describe, expect, it } from "vitest";
import { decodeText } from "../../src/formats/decode-text.ts";
import { problemLine } from "../../src/formats/problem.ts";

function said(bytes: Uint8Array): string {
  const result = decodeText(bytes, "board.yaml");
  return result.ok ? `read: ${result.text}` : result.problems.map(problemLine).join("\n");
}

const bytesOf = (text: string) => new TextEncoder().encode(text);

describe("decodeText(bytes)", () => {
  it("drops a UTF-8 byte order mark", () => {
    expect(said(Uint8Array.of(0xef, 0xbb, 0xbf, 0x61))).toBe("read: a");
  });

  it.each([
    ["nothing", bytesOf("")],
    ["white space", bytesOf(" \n\t\r\n")],
    ["a byte order mark alone", Uint8Array.of(0xef, 0xbb, 0xbf)],
  ])("refuses %s as empty", (_what, bytes) => {
    expect(said(bytes)).toBe(
      "board.yaml:1:1: the file is empty; start it with `format:` and `version:`",
    );
  });

  it("refuses a NUL byte with its line", () => {
    expect(said(bytesOf("a: 1\nb: \0\n"))).toBe(
      "board.yaml:2:1: a NUL byte at byte 8, expected a text; check that the right file is named",
    );
  });

  it.each([
    ["little", Uint8Array.of(0xff, 0xfe, 0x61, 0x00)],
    ["big", Uint8Array.of(0xfe, 0xff, 0x00, 0x61)],
  ])("names UTF-16 of the %s end first", (_end, bytes) => {
    expect(said(bytes)).toBe(
      "board.yaml:1:1: the file is UTF-16, expected UTF-8; save it as UTF-8 in the editor",
    );
  });

  it.each([
    // Ill-formed sequences of the Unicode Standard 15, table 3-7: a lone continuation, an overlong
    // form, a surrogate, a value past U+10FFFF, and a sequence cut short.
    ["a lone continuation byte", [0x80]],
    ["an overlong slash", [0xc0, 0xaf]],
    ["a surrogate", [0xed, 0xa0, 0x80]],
    ["a value past the last", [0xf4, 0x90, 0x80, 0x80]],
    ["a sequence cut short", [0xe2, 0x82]],
  ])("refuses %s", (_what, bytes) => {
    expect(said(Uint8Array.from([0x61, ...bytes, 0x0a]))).toMatch(
      /^board\.yaml:1:1: bytes that are not UTF-8, expected a text; /,
    );
  });

  it("reads one mebibyte and refuses one byte more", () => {
    const full = new Uint8Array(1_048_576).fill(0x61);
    expect(decodeText(full, "board.yaml").ok).toBe(true);
    expect(said(new Uint8Array(1_048_577).fill(0x61))).toMatch(
      /^board\.yaml:1:1: more than 1048576 bytes, expected a few thousand; /,
    );
  });
});
