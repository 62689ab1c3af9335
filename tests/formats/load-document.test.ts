/** What the loader says about each kind of spoilt file: place, offending text, reason, what to do. */
import { describe, expect, it } from "vitest";
import { loadBoard } from "../../src/formats/board.schema.ts";
import { documentOf } from "../../src/formats/load-document.ts";
import {
  FormatError,
  type ProblemCode,
  problemLine,
  problemLines,
} from "../../src/formats/problem.ts";
import { loadRig } from "../../src/formats/rig.schema.ts";
import { loadSequence } from "../../src/formats/sequence.schema.ts";
import { BOARD_TEXT, RIG_TEXT, SEQUENCE_TEXT, spoil } from "../plan/proof-texts.ts";

const loaders = {
  "board.yaml": { load: loadBoard, text: BOARD_TEXT },
  "rig.yaml": { load: loadRig, text: RIG_TEXT },
  "sequence.yaml": { load: loadSequence, text: SEQUENCE_TEXT },
} as const;

interface Refusal {
  readonly what: string;
  readonly file: keyof typeof loaders;
  readonly from: string;
  readonly to: string;
  readonly code: ProblemCode;
  /** The whole line, so that place and wording are both held. */
  readonly says: string;
}

const refusals: readonly Refusal[] = [
  {
    what: "an unknown key, with the known ones",
    file: "board.yaml",
    from: "contract: { volV: 14,",
    to: "contract: { volV: 14, vmlV: 9,",
    code: "KEY_UNKNOWN",
    says: "board.yaml:11:23: vmlV: unknown key, known here are volV, vilV, vihV, vohV; did you mean `volV`? Else remove it or use a known one",
  },
  {
    what: "a key in other capitals, with the right ones",
    file: "board.yaml",
    from: "slowestTimeConstantMs: 20",
    to: "slowestTimeConstantMs: 20\nTitle: x",
    code: "KEY_UNKNOWN",
    says: "board.yaml:13:1: Title: unknown key, known here are format, version, board, revision, title, rails, ceilings, cathodesV, contract, rule, sources, steadyLines, slowestTimeConstantMs, heaterBeforePlateMs, stages, nets, loads, connector, notes; write it `title`",
  },
  {
    what: "a doubled key",
    file: "board.yaml",
    from: "revision: A\n",
    to: "revision: A\nrevision: B\n",
    code: "YAML_DUPLICATE_KEY",
    says: "board.yaml:5:1: revision: this key stands twice in one mapping, first on line 4; keep one of the two",
  },
  {
    what: "a missing key, with what it is for",
    file: "board.yaml",
    from: "heaterBeforePlateMs: 3000\n",
    to: "",
    code: "KEY_MISSING",
    says: "board.yaml:1:1: format: holdfast-board...: missing key heaterBeforePlateMs (Least time the heaters are on before plate is switched. Milliseconds); add `heaterBeforePlateMs:` here",
  },
  {
    what: "a missing key inside a rail, at the rail",
    file: "board.yaml",
    from: "ceilingV: 14, ",
    to: "",
    code: "KEY_MISSING",
    says: "board.yaml:7:3: heater: missing key ceilingV (Absolute limit, same sign as nominalV; nothing may ever go beyond. Volts); add `ceilingV:` here",
  },
  {
    what: "a number in quotes",
    file: "board.yaml",
    from: "slowestTimeConstantMs: 20",
    to: 'slowestTimeConstantMs: "20"',
    code: "TYPE_WRONG",
    says: 'board.yaml:12:24: "20": a text, expected a number (Slowest time constant on the board; holds outlast it. Milliseconds); write the number without quotes',
  },
  {
    what: "a number with its unit",
    file: "board.yaml",
    from: "slowestTimeConstantMs: 20",
    to: "slowestTimeConstantMs: 20 ms",
    code: "TYPE_WRONG",
    says: "board.yaml:12:24: 20 ms: a text, expected a number (Slowest time constant on the board; holds outlast it. Milliseconds); change the value",
  },
  {
    what: "a key without a value",
    file: "board.yaml",
    from: "title: Set-reset latch of two nor stages",
    to: "title:",
    code: "TYPE_WRONG",
    says: "board.yaml:5:7: no value, expected a text (One line that says what the board is); change the value",
  },
  {
    what: "a value where keys belong",
    file: "board.yaml",
    from: "ceilings: { betweenRailsV: 85, heaterToCathodeV: 90 }",
    to: "ceilings: 85",
    code: "TYPE_WRONG",
    says: "board.yaml:10:11: 85: a number, expected keys and values (Absolute limits that involve two points, magnitudes); change the value",
  },
  {
    what: "a window of three ends",
    file: "board.yaml",
    from: "windowV: [11.9, 13.2]",
    to: "windowV: [11.9, 12, 13.2]",
    code: "VALUE_REFUSED",
    says: "board.yaml:7:29: windowV: too large, expected at most 2 entries (Lower and upper end of the volts the board may run on, signed, lower first); change the value",
  },
  {
    what: "a name with a blank",
    file: "board.yaml",
    from: "  A: { type: nor",
    to: "  A a: { type: nor",
    code: "VALUE_REFUSED",
    says: "board.yaml:15:3: A a: this name is not taken, expected letters, digits, `_`, `+` or `-`, a letter first, at most 24; rename it",
  },
  {
    what: "a time of zero",
    file: "board.yaml",
    from: "slowestTimeConstantMs: 20",
    to: "slowestTimeConstantMs: 0",
    code: "VALUE_REFUSED",
    says: "board.yaml:12:24: 0: too small, expected more than 0 (Slowest time constant on the board; holds outlast it. Milliseconds); change the value",
  },
  {
    what: "a wait longer than a timer can take",
    file: "sequence.yaml",
    from: "forMs: 120000",
    to: "forMs: 9e9",
    code: "VALUE_REFUSED",
    says: "sequence.yaml:24:12: 9e9: too large, expected at most 86400000 (How long the state must hold; longer than the slowest time constant. Milliseconds); change the value",
  },
  {
    what: "what is not a number",
    file: "rig.yaml",
    from: "referenceV: 5\n",
    to: "referenceV: .nan\n",
    code: "TYPE_WRONG",
    says: "rig.yaml:6:13: .nan: no finite number, expected a number (Converter reference; the chip takes at most its own supply. Volts); change the value",
  },
  {
    what: "half a sample",
    file: "rig.yaml",
    from: "samples: 16",
    to: "samples: 16.5",
    code: "TYPE_WRONG",
    says: "rig.yaml:8:10: 16.5: a number, expected a whole number (Conversions summed for one reading, 1..64); change the value",
  },
  {
    what: "more samples than the controller takes",
    file: "rig.yaml",
    from: "samples: 16",
    to: "samples: 65",
    code: "VALUE_REFUSED",
    says: "rig.yaml:8:10: 65: too large, expected at most 64 (Conversions summed for one reading, 1..64); change the value",
  },
  {
    what: "a bench of no known kind",
    file: "rig.yaml",
    from: "bench: { kind: emulated,",
    to: "bench: { kind: remote,",
    code: "VALUE_REFUSED",
    says: "rig.yaml:5:16: remote: not a known kind, expected one of emulated, port; use one of these",
  },
  {
    what: "a circuit file in another folder",
    file: "rig.yaml",
    from: "circuit: circuit.yaml",
    to: "circuit: ../circuit.yaml",
    code: "VALUE_REFUSED",
    says: "rig.yaml:5:35: ../circuit.yaml: expected a file name without a folder (Circuit file beside this file); change the value",
  },
  {
    what: "an output without a drive",
    file: "rig.yaml",
    from: "rail: bias, drive: relay,",
    to: "rail: bias,",
    code: "KEY_MISSING",
    says: "rig.yaml:11:5: { output: 2, rail: bias, sourceV: -24, sourceOhm: 10 }: missing key drive, expected one of relay, changeover, load, trigger; add `drive:`",
  },
  {
    what: "a channel that reads nothing",
    file: "rig.yaml",
    from: "{ channel: 7, net: Q, ",
    to: "{ channel: 7, ",
    code: "KEY_MISSING",
    says: "rig.yaml:31:5: { channel: 7, topOhm: 1000000, bottomOhm: 100000, capacitorN...: keys channel, topOhm, bottomOhm, capacitorNf, expected an entry with one of rail, net, line; begin the entry with one of these",
  },
  {
    what: "a side of a rail that is none",
    file: "rig.yaml",
    from: "{ channel: 1, rail: heater, at: source,",
    to: "{ channel: 1, rail: heater, at: front,",
    code: "VALUE_REFUSED",
    says: "rig.yaml:25:37: front: expected source or board (Before the relay, or on the board side); change the value",
  },
  {
    what: "an unknown key of a channel on a net, with that branch's keys",
    file: "rig.yaml",
    from: "{ channel: 7, net: Q,",
    to: "{ channel: 7, net: Q, at: board,",
    code: "KEY_UNKNOWN",
    says: "rig.yaml:31:27: at: unknown key, known here are channel, net, topOhm, bottomOhm, pullUpOhm, capacitorNf; remove it or use a known one",
  },
  {
    what: "a level that is none",
    file: "sequence.yaml",
    from: "step: release, set: { RESET: low }",
    to: "step: release, set: { RESET: off }",
    code: "VALUE_REFUSED",
    says: "sequence.yaml:13:36: off: expected low or high (Level to drive; for a load, high means connected); change the value",
  },
  {
    what: "a step that expects nothing",
    file: "sequence.yaml",
    from: "step: release, set: { RESET: low }, settleMs: 100, expect: { Q: low, QN: high }",
    to: "step: release, set: { RESET: low }, settleMs: 100, expect: {}",
    code: "VALUE_REFUSED",
    says: "sequence.yaml:13:58: expect: expected at least one net (Nets to read and the class each must have; left out: all the rig reads, by the model); change the value",
  },
  {
    what: "a hold without its flip",
    file: "sequence.yaml",
    from: "    flip: { enter: { RESET: high }, release: { RESET: low }, expect: { Q: low, QN: high }, forMs: 5000 }\n",
    to: "",
    code: "KEY_MISSING",
    says: "sequence.yaml:15:5: hold: Q set...: missing key flip (The opposite input must flip the state and the flipped state must hold too: without it a set contact stuck closed would pass); add `flip:` here",
  },
  {
    what: "an entry that is no step",
    file: "sequence.yaml",
    from: "  - note: now the state must stay by itself\n",
    to: "  - wait: 3\n",
    code: "KEY_MISSING",
    says: "sequence.yaml:14:5: wait: 3: keys wait, expected an entry with one of step, hold, repeat, note; begin the entry with one of these",
  },
  {
    what: "a repeat inside a repeat",
    file: "sequence.yaml",
    from: "      - { step: unset, set: { SET: low }, settleMs: 100, expect: { Q: high, QN: low } }\n",
    to: "      - repeat: 2\n        steps: []\n",
    code: "KEY_MISSING",
    says: "sequence.yaml:29:9: repeat: 2...: keys repeat, steps, expected an entry with one of step, hold, note; begin the entry with one of these",
  },
  {
    what: "a title that would move the cursor",
    file: "board.yaml",
    from: "title: Set-reset latch of two nor stages",
    to: 'title: "\\e[2J latch"',
    code: "VALUE_REFUSED",
    says: 'board.yaml:5:8: "\\e[2J latch": expected one line of text without control characters (One line that says what the board is); change the value',
  },
  {
    what: "another format",
    file: "rig.yaml",
    from: "format: holdfast-rig",
    to: "format: holdfast-board",
    code: "FORMAT_WRONG",
    says: "rig.yaml:1:9: holdfast-board: the file's format is not holdfast-rig; check that the right file is named",
  },
  {
    what: "no format",
    file: "rig.yaml",
    from: "format: holdfast-rig\n",
    to: "",
    code: "FORMAT_WRONG",
    says: "rig.yaml:1:1: version: 1...: no format is named, expected `format: holdfast-rig`; add it as the first line",
  },
  {
    what: "a newer version by name",
    file: "rig.yaml",
    from: "version: 1",
    to: "version: 2",
    code: "FORMAT_NEWER",
    says: "rig.yaml:2:10: 2: holdfast-rig version 2 is newer than this program reads (1); use a newer Holdfast for this file",
  },
  {
    what: "a version that never was",
    file: "rig.yaml",
    from: "version: 1",
    to: "version: 0",
    code: "VALUE_REFUSED",
    says: "rig.yaml:2:10: 0: expected 1 (Version of this format); change the value",
  },
  {
    what: "a tab as indent",
    file: "rig.yaml",
    from: "    line: SET\n",
    to: "\tline: SET\n",
    code: "YAML_TAB",
    says: "rig.yaml:14:1: line: SET: a tab where the indent belongs, expected spaces; replace tabs by spaces",
  },
  {
    what: "an open bracket",
    file: "rig.yaml",
    from: "to: common, net: Q }",
    to: "to: common, net: Q",
    code: "YAML_SYNTAX",
    says: "rig.yaml:24:1: channels:: the indent does not fit the lines around it; line it up with its neighbours",
  },
  {
    what: "an anchor",
    file: "rig.yaml",
    from: "contactDcV: 80",
    to: "contactDcV: &dc 80",
    code: "YAML_ALIAS",
    says: "rig.yaml:7:17: 80: an anchor &dc, expected none; remove it and write values out",
  },
  {
    what: "a tag",
    file: "rig.yaml",
    from: "contactDcV: 80",
    to: "contactDcV: !!float 80",
    code: "YAML_TAG",
    says: "rig.yaml:7:13: !!float 80: a tag, expected a plain value; remove the tag",
  },
  {
    what: "a tag of another world",
    file: "rig.yaml",
    from: "contactDcV: 80",
    to: "contactDcV: !volts 80",
    code: "YAML_TAG",
    says: "rig.yaml:7:13: !volts 80: a tag, expected a plain value; remove the tag",
  },
  {
    what: "a second document",
    file: "rig.yaml",
    from: "contactDcV: 80",
    to: "contactDcV: 80\n---",
    code: "YAML_SYNTAX",
    says: "rig.yaml:8:1: ---: a second document starts here, expected one a file; remove the `---` or split the file",
  },
  {
    what: "the key that hides in every object",
    file: "rig.yaml",
    from: "contactDcV: 80",
    to: "contactDcV: 80\n__proto__: { samples: 3 }",
    code: "KEY_UNKNOWN",
    says: "rig.yaml:8:1: __proto__: { samples: 3 }: a key no file has, expected one of the format's own; remove it",
  },
];

describe("a loader", () => {
  it.each(Object.entries(loaders))("%s reads its good file", (name, { load, text }) => {
    const document = documentOf<{ format: string }>(load(text, name));
    expect(document.value.format).toBe(`holdfast-${name.replace(".yaml", "")}`);
  });

  it.each(refusals)("refuses $what", ({ file, from, to, code, says }) => {
    const { load, text } = loaders[file];
    const result = load(spoil(text, from, to), file);
    expect(result.ok ? [] : result.problems.map(problemLine)).toEqual([says]);
    expect(result.ok ? null : result.problems[0]?.code).toBe(code);
  });

  it("reads bare numbers as pin names", () => {
    const text = BOARD_TEXT.replaceAll('"1": plate', "1: plate");
    const { value } = documentOf(loadBoard(text, "board.yaml"));
    expect(value.connector["1"]).toBe("plate");
  });

  it("reads a file with a byte order mark and Windows line ends", () => {
    const { value, spot } = documentOf(
      loadBoard(`\uFEFF${BOARD_TEXT.replaceAll("\n", "\r\n")}`, "board.yaml"),
    );
    expect(value.board).toBe("test-latch");
    expect(spot(["board"], "value")).toEqual({ line: 3, column: 8, text: "test-latch" });
  });

  it("reads YAML 1.2, where no is a word and 1.1 is refused", () => {
    const named = spoil(BOARD_TEXT, "revision: A", "revision: no");
    expect(documentOf(loadBoard(named, "board.yaml")).value.revision).toBe("no");
    const old = loadBoard(`%YAML 1.1\n---\n${BOARD_TEXT}`, "board.yaml");
    expect(old.ok ? [] : old.problems.map(problemLine)).toEqual([
      "board.yaml:1:1: %YAML 1.1: YAML 1.1, expected 1.2; remove the %YAML line",
    ]);
  });

  it("tells every problem of a file at once, in the order of its lines", () => {
    let text = spoil(SEQUENCE_TEXT, "timeoutMs: 60000", "timeoutMs: soon");
    text = spoil(text, "moveEveryMs: 500", "moveEvery: 500");
    text = spoil(text, "repeat: 10", "repeat: 0");
    const result = loadSequence(text, "sequence.yaml");
    const places = result.ok
      ? []
      : result.problems.map(({ line, column, code }) => [line, column, code]);
    expect(places).toEqual([
      [6, 14, "TYPE_WRONG"],
      [15, 5, "KEY_MISSING"],
      [21, 5, "KEY_UNKNOWN"],
      [26, 13, "VALUE_REFUSED"],
    ]);
  });

  it("throws a FormatError with all problems where a value is asked for", () => {
    const refused = loadRig("format: holdfast-rig\nversion: 1\nrig: 3\n", "rig.yaml");
    const take = () => documentOf(refused);
    expect(take).toThrow(FormatError);
    expect(take).toThrow("rig.yaml:3:6: 3: a number, expected a text");
    expect(take).toThrow("missing key channels");
  });

  it("prints a hundred problems and counts the rest", () => {
    const many = `format: holdfast-board\nversion: 1\n${Array.from({ length: 150 }, (_, i) => `k${i}: 1`).join("\n")}\n`;
    const result = loadBoard(many, "board.yaml");
    const lines = result.ok ? [] : problemLines(result.problems);
    expect(lines).toHaveLength(101);
    expect(lines.at(-1)).toMatch(/^and 6\d more/);
  });
});

describe("a hostile file", () => {
  it.each([
    ["brackets", "[".repeat(1_000_000), 33],
    ["dashes", "- ".repeat(500_000), 65],
    ["question marks", "? ".repeat(500_000), 65],
    ["braces", "{a: ".repeat(250_000), 129],
  ])("of nested %s is refused where it gets too deep", (_what, text, column) => {
    const result = loadBoard(text, "board.yaml");
    expect(result.ok ? [] : result.problems).toMatchObject([
      { code: "YAML_TOO_DEEP", line: 1, column },
    ]);
  });

  it("of aliases that unfold without bound is refused before they unfold", () => {
    const levels = Array.from({ length: 30 }, (_, i) => {
      const inner = i === 0 ? "x" : `[${`*a${i - 1}, `.repeat(9)}]`;
      return `k${i}: &a${i} ${inner}`;
    });
    const result = loadBoard(levels.join("\n"), "board.yaml");
    const codes = result.ok ? [] : result.problems.map((problem) => problem.code);
    expect(new Set(codes)).toEqual(new Set(["YAML_ALIAS"]));
    expect(codes).toHaveLength(30 + 29 * 9);
  });

  it("prints its text without control marks, shortened", () => {
    const result = loadBoard(`format: "\u009b2J\u202e${"x".repeat(100)}"`, "board.yaml");
    const [line = ""] = result.ok ? [] : result.problems.map(problemLine);
    expect(line).toMatch(/^board\.yaml:1:9: "\\u009b2J\\u202ex+\.\.\.: the file's format/);
  });
});
