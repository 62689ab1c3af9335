/** Claims about every text, tried on many. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { parse, stringify } from "yaml";
import { loadBoard } from "../../src/formats/board.schema.ts";
import { loadCircuit } from "../../src/formats/circuit.schema.ts";
import { decodeText } from "../../src/formats/decode-text.ts";
import { documentOf, type LoadResult } from "../../src/formats/load-document.ts";
import { FormatError, problemLine } from "../../src/formats/problem.ts";
import { loadRig } from "../../src/formats/rig.schema.ts";
import { loadSequence } from "../../src/formats/sequence.schema.ts";
import { loadUnit } from "../../src/formats/unit.schema.ts";
import { BOARD_TEXT, RIG_TEXT, SEQUENCE_TEXT } from "../plan/proof-texts.ts";

const proofs = [
  {
    name: "board",
    load: loadBoard as (text: string, name: string) => LoadResult<object>,
    text: BOARD_TEXT,
  },
  {
    name: "rig",
    load: loadRig as (text: string, name: string) => LoadResult<object>,
    text: RIG_TEXT,
  },
  {
    name: "sequence",
    load: loadSequence as (text: string, name: string) => LoadResult<object>,
    text: SEQUENCE_TEXT,
  },
];

const loaders = [...proofs.map(({ load }) => load), loadUnit, loadCircuit];

/** Fragments that YAML readers and schemas trip over, mixed with any text. */
const yamlish = fc
  .array(
    fc.oneof(
      fc.constantFrom(
        "format: holdfast-board\nversion: 1\n",
        "steps:",
        "- ",
        ": ",
        "{",
        "}",
        "[",
        "]",
      ),
      fc.constantFrom(
        "\n",
        "  ",
        "\t",
        "? ",
        "&a ",
        "*a",
        "!!map ",
        "<<: ",
        "|\n",
        ">-\n",
        "#",
        "'",
        '"',
      ),
      fc.constantFrom(
        "__proto__",
        "constructor",
        "toString",
        "---\n",
        "...\n",
        "%YAML 1.1\n",
        "~",
        ".inf",
      ),
      fc.string({ unit: "binary", maxLength: 8 }),
    ),
    { maxLength: 40 },
  )
  .map((parts) => parts.join(""));

function isPlace(problem: { line: number | null; column: number | null }, text: string): boolean {
  const lines = text.split(/\r\n|\n/);
  const { line, column } = problem;
  if (line === null || column === null || line < 1 || line > lines.length) return false;
  return column >= 1 && column <= (lines[line - 1] ?? "").length + 1;
}

describe("any text", () => {
  it("is read or refused with places inside it, and never throws", () => {
    fc.assert(
      fc.property(fc.oneof(yamlish, fc.string({ unit: "binary" })), (text) => {
        for (const load of loaders) {
          const result = load(text, "any.yaml");
          if (result.ok) continue;
          expect(result.problems.length).toBeGreaterThan(0);
          const bare = text.startsWith("\uFEFF") ? text.slice(1) : text;
          for (const problem of result.problems) {
            expect(isPlace(problem, bare), problemLine(problem)).toBe(true);
            expect(problemLine(problem)).not.toMatch(/[\p{Cc}\u202a-\u202e\u2066-\u2069]/u);
          }
        }
      }),
      { numRuns: 1500, seed: 20 },
    );
  });

  it("asked for its value throws nothing but a FormatError", () => {
    fc.assert(
      fc.property(yamlish, (text) => {
        try {
          documentOf(loadBoard(text, "any.yaml"));
        } catch (error) {
          expect(error).toBeInstanceOf(FormatError);
        }
      }),
      { numRuns: 500, seed: 21 },
    );
  });

  it("as any bytes is decoded or refused", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (bytes) => {
        const result = decodeText(bytes, "any.yaml");
        if (result.ok) expect(result.text.length).toBeGreaterThan(0);
        else expect(result.problems).toHaveLength(1);
      }),
      { numRuns: 1000, seed: 22 },
    );
  });
});

describe("a good file", () => {
  it.each(proofs)("of a $name with one character struck out or doubled never throws", (proof) => {
    fc.assert(
      fc.property(fc.nat(proof.text.length - 1), fc.boolean(), (at, doubled) => {
        const end = doubled ? at : at + 1;
        const text = proof.text.slice(0, at + (doubled ? 1 : 0)) + proof.text.slice(end);
        const result = proof.load(text, "any.yaml");
        if (!result.ok) expect(result.problems.every((one) => isPlace(one, text))).toBe(true);
      }),
      { numRuns: 400, seed: 23 },
    );
  });

  it.each(proofs)("of a $name reads the same in any layout of YAML", ({ load, text }) => {
    const value = documentOf(load(text, "one.yaml")).value;
    fc.assert(
      fc.property(
        fc.record({
          indent: fc.integer({ min: 2, max: 8 }),
          collectionStyle: fc.constantFrom("any", "block", "flow"),
          defaultStringType: fc.constantFrom("PLAIN", "QUOTE_DOUBLE", "QUOTE_SINGLE"),
          lineWidth: fc.constantFrom(0, 40, 80),
        }),
        fc.boolean(),
        (layout, json) => {
          const written = json ? JSON.stringify(parse(text)) : stringify(value, layout as object);
          expect(documentOf(load(written, "two.yaml")).value).toEqual(value);
        },
      ),
      { numRuns: 60, seed: 24 },
    );
  });

  it.each(proofs)("of a $name is refused when any one number becomes a word", ({ load, text }) => {
    const numbers = [...text.matchAll(/: (-?\d+(?:\.\d+)?)(?=[\s,}])/g)];
    expect(numbers.length).toBeGreaterThan(10);
    for (const match of numbers) {
      const at = match.index + 2;
      const spoilt = `${text.slice(0, at)}many${text.slice(at + (match[1] ?? "").length)}`;
      const result = load(spoilt, "any.yaml");
      const line = text.slice(0, at).split("\n").length;
      expect(result.ok ? [] : result.problems.map((one) => one.line)).toEqual([line]);
    }
  });
});
