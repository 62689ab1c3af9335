import { PassThrough } from "node:stream";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { BODY_BYTES_MAX, frameCommand, readLine } from "../../src/bench/checked-line.ts";
import { readLines } from "../../src/bench/received-lines.ts";
import { withCrc } from "./controller-model.ts";

const printable = fc.string({
  unit: fc.integer({ min: 0x20, max: 0x7e }).map((code) => String.fromCharCode(code)),
  minLength: 1,
  maxLength: BODY_BYTES_MAX,
});

describe("frameCommand", () => {
  it("frames a body with its tag in two hexadecimal digits and a checksum made bit by bit", () => {
    expect(frameCommand(10, "*IDN?")).toBe(withCrc(">0A|*IDN?|"));
    expect(frameCommand(0x1ff, "*IDN?")).toBe(withCrc(">FF|*IDN?|"));
  });

  it("never makes a line of more than 96 bytes", () => {
    expect(frameCommand(0, "x".repeat(BODY_BYTES_MAX))).toHaveLength(96);
    expect(() => frameCommand(0, "x".repeat(BODY_BYTES_MAX + 1))).toThrow(RangeError);
  });

  it.each(["", "a\nb", "caf\u00e9"])("refuses the body %j", (body) => {
    expect(() => frameCommand(0, body)).toThrow(RangeError);
  });
});

describe("readLine", () => {
  it("reads a reply, a reply to an untrusted line and a pushed line", () => {
    expect(readLine(withCrc("<2A|7:1:2|"))).toEqual({ kind: "reply", tag: "2A", answer: "7:1:2" });
    expect(readLine(`${withCrc("<--|E108|")}\r`)).toMatchObject({ kind: "reply", tag: "--" });
    expect(readLine(withCrc("!FE|DEAD 12|"))).toEqual({
      kind: "push",
      number: 0xfe,
      body: "DEAD 12",
    });
  });

  it("finds a greeting behind half a reply", () => {
    const line = `<05|12,3${withCrc("!00|BOOT 1,0.1.0,BOR,2|")}`;
    expect(readLine(line)).toMatchObject({ kind: "push", number: 0 });
  });

  it("takes other text for stray text, and a frame without its checksum for a damaged one", () => {
    expect(readLine("ATZ")).toEqual({ kind: "stray", text: "ATZ" });
    expect(readLine("<05|OK|")).toMatchObject({ kind: "damaged", looksLike: "reply" });
    expect(readLine("!05|TRIP")).toMatchObject({ kind: "damaged", looksLike: "push" });
  });

  it("takes no line with one wrong bit for a good one", () => {
    fc.assert(
      fc.property(printable, fc.nat(), fc.integer({ min: 0, max: 7 }), (body, place, bit) => {
        const line = withCrc(`<2A|${body}|`);
        const at = place % line.length;
        const wrong =
          line.slice(0, at) +
          String.fromCharCode(line.charCodeAt(at) ^ (1 << bit)) +
          line.slice(at + 1);
        const read = readLine(wrong);
        return read.kind === "damaged" || read.kind === "stray";
      }),
    );
  });

  it("reads any text without throwing", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary" }), (text) => {
        expect(["reply", "push", "damaged", "stray"]).toContain(readLine(text).kind);
      }),
    );
  });
});

describe("readLines", () => {
  function split(chunks: readonly Buffer[]): { lines: string[]; overlong: number } {
    const found = { lines: [] as string[], overlong: 0 };
    const stream = new PassThrough();
    readLines(
      stream,
      {
        line: (text) => {
          found.lines.push(text);
        },
        overlong: () => {
          found.overlong += 1;
        },
      },
      8,
    );
    for (const chunk of chunks) stream.emit("data", chunk);
    return found;
  }

  it("cuts a line that is too long, counts it once and tells the next one whole", () => {
    const chunks = ["123456789abc", "def", "gh\n1234", "5678\n"].map((text) => Buffer.from(text));
    expect(split(chunks)).toEqual({ lines: ["12345678", "12345678"], overlong: 1 });
  });

  it("gathers no more than its limit of an endless line", () => {
    const chunks = Array.from({ length: 50 }, () => Buffer.alloc(65_536, 0xff));
    expect(split([...chunks, Buffer.from("\n")])).toEqual({
      lines: ["\xff".repeat(8)],
      overlong: 1,
    });
  });

  it("tells the lines of a text whatever chunks it comes in, and no empty ones", () => {
    const text = fc.string({ unit: fc.constantFrom("a", "<", "\r", "\n", "\xe9"), maxLength: 60 });
    fc.assert(
      fc.property(text, fc.array(fc.integer({ min: 1, max: 7 })), (whole, sizes) => {
        const chunks: Buffer[] = [];
        let rest = whole;
        for (const size of sizes) {
          chunks.push(Buffer.from(rest.slice(0, size), "latin1"));
          rest = rest.slice(size);
        }
        const expected = whole
          .split("\n")
          .slice(0, -1)
          .map((line) => line.slice(0, 8))
          .filter((line) => line !== "");
        expect(split([...chunks, Buffer.from(rest, "latin1")]).lines).toEqual(expected);
      }),
    );
  });
});
