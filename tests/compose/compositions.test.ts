/** Files by question and answer: what comes out is taken by the same checks as any other file. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { parse } from "yaml";
import {
  type AtHand,
  type COMPOSED_KINDS,
  compose,
  refusalOf,
} from "../../src/compose/compositions.ts";
import { read, replay } from "../../src/compose/question.ts";
import { flow, word } from "../../src/compose/yaml-words.ts";
import { type Board, loadBoard } from "../../src/formats/board.schema.ts";
import { loadCircuit } from "../../src/formats/circuit.schema.ts";
import { documentOf } from "../../src/formats/load-document.ts";
import { problemLine } from "../../src/formats/problem.ts";
import { loadRig } from "../../src/formats/rig.schema.ts";
import { loadSequence } from "../../src/formats/sequence.schema.ts";
import { loadUnit } from "../../src/formats/unit.schema.ts";
import { checkBoardAlone, checkRigOnBoard } from "../../src/plan/check-alone.ts";
import { checkUnit } from "../../src/plan/check-unit.ts";
import { resolvePlan } from "../../src/plan/resolve-plan.ts";
import { BOARD_TEXT } from "../plan/proof-texts.ts";
import { answerAll } from "./robot.ts";

const TITLE = { "What it is, in one line": "Latch of the spare rack" };
const nothing: AtHand = { name: "spare-latch", board: null, rig: null, today: "2026-05-01" };

function composed(
  kind: (typeof COMPOSED_KINDS)[number],
  atHand: AtHand,
  prepared: Readonly<Record<string, string>> = {},
): string {
  const done = answerAll(() => compose(kind, atHand), prepared);
  if (done === null) throw new Error(`the ${kind} dialogue does not end`);
  return done.value;
}

/** A whole proof, with the defaults where nothing else is said. */
function proofByDefault(prepared: Readonly<Record<string, string>>) {
  const board = documentOf(loadBoard(composed("board", nothing, prepared), "board.yaml"));
  const withBoard = { ...nothing, board: board.value };
  const rig = documentOf(loadRig(composed("rig", withBoard, prepared), "rig.yaml"));
  const withRig = { ...withBoard, rig: rig.value };
  const sequence = documentOf(
    loadSequence(composed("sequence", withRig, prepared), "sequence.yaml"),
  );
  return { board, rig, sequence, withBoard };
}

describe("a latch by its defaults", () => {
  const { board, rig, sequence, withBoard } = proofByDefault(TITLE);

  it("is a proof without a problem", () => {
    const result = resolvePlan({ board, rig, sequence, sources: [] });
    expect(result.ok ? [] : result.problems.map(problemLine)).toEqual([]);
  });

  it("has the limits of the shipped latch, which its offered parts are good for", () => {
    const { contract, rails } = board.value;
    expect(contract).toEqual({ volV: 14.5, vilV: 18.5, vihV: 31.5, vohV: 34.5 });
    expect([rails.heater.nominalV, rails.bias?.nominalV, rails.plate.nominalV]).toEqual([
      12.6, -24, 48,
    ]);
  });

  it("is held in the set state and flipped by reset", () => {
    const hold = sequence.value.steps.find((step) => "hold" in step);
    expect(hold).toMatchObject({
      enter: { SET: "high" },
      release: { SET: "low" },
      inactive: { SET: "low", RESET: "low" },
      expect: { Q: "high", QN: "low" },
      flip: { enter: { RESET: "high" }, expect: { Q: "low", QN: "high" } },
    });
  });

  it("has a circuit whose triodes drive the nets of its stages", () => {
    const circuit = documentOf(loadCircuit(composed("circuit", withBoard), "circuit.yaml")).value;
    const plates = circuit.parts.flatMap((part) => (part.kind === "triode" ? [part.plate] : []));
    expect(plates).toEqual(Object.values(board.value.stages).map(({ output }) => output));
  });

  it("has a unit that belongs to it, with blank checks where nobody signs", () => {
    const text = composed("unit", withBoard, { "Serial of this one board": "LV-40" });
    const unit = documentOf(loadUnit(text, "unit.yaml"));
    expect(checkUnit(unit, board.value)).toEqual([]);
    expect(unit.value.coldChecks.length).toBeGreaterThan(4);
    expect(unit.value.coldChecks.filter(({ value, by }) => value ?? by)).toEqual([]);
  });

  it("names initials and day beside each check that was filled in, and no other", () => {
    const text = composed("unit", withBoard, {
      "Serial of this one board": "LV-40",
      "Initials of who does the cold checks": "AB",
      "Cold check: heater pins": "13 ohm",
    });
    const { coldChecks } = documentOf(loadUnit(text, "unit.yaml")).value;
    expect(coldChecks.filter(({ by }) => by !== undefined)).toEqual([
      expect.objectContaining({
        check: "heater pins",
        value: "13 ohm",
        by: "AB",
        date: "2026-05-01",
      }),
    ]);
  });
});

describe("a board of one's own", () => {
  const own = {
    ...TITLE,
    "Is it a latch of two stages, or something of your own?": "own",
    "What V1a takes": "A B",
    "Net that V1a drives": "Y",
    "Name of a load the board must bear": "HORN",
    "Name of a further load": "",
    "Warm-up pattern 1: lines to drive": "A=high",
    'What nets must read in "first"': "Y=low",
    'Lines to drive in "first"': "A=high B=low",
  };

  it("becomes a proof without a problem, with its load on an output", () => {
    const { board, rig, sequence } = proofByDefault(own);
    const result = resolvePlan({ board, rig, sequence, sources: [] });
    expect(result.ok ? [] : result.problems.map(problemLine)).toEqual([]);
    expect(rig.value.outputs.at(-1)).toMatchObject({ line: "HORN", net: "Y", drive: "load" });
  });

  it("is offered no levels where its supplies are not the shipped rack's", () => {
    const start = () => compose("board", nothing);
    const done = answerAll(start, { ...TITLE, "Volts of the plate rail": "90" });
    expect(done).toBeNull();
    const told = {
      ...TITLE,
      "Volts of the plate rail": "90",
      "Level contract: VOL VIL VIH VOH": "20 25 60 70",
    };
    expect(answerAll(start, told)).not.toBeNull();
  });

  it("is refused a circuit where there is nothing to make it of, with the reason", () => {
    const board = documentOf(loadBoard(BOARD_TEXT, "board.yaml")).value;
    const other: Board = {
      ...board,
      stages: Object.fromEntries(
        Object.entries(board.stages).map(([name, stage]) => [name, { ...stage, type: "follower" }]),
      ),
    };
    expect(refusalOf("circuit", { ...nothing, board: other })).toContain("follower");
    const { bias: _, ...rails } = board.rails;
    expect(refusalOf("circuit", { ...nothing, board: { ...board, rails } })).toContain("bias");
  });
});

describe("an answer", () => {
  const board = documentOf(loadBoard(BOARD_TEXT, "board.yaml")).value;

  it("to a divider is refused with what it covers, and taken with the same words", () => {
    const start = () => compose("rig", { ...nothing, board });
    const before = answerAll(start, {})?.questions.findIndex((one) =>
      one.startsWith("Divider of the plate"),
    );
    const standing = replay(
      start,
      Array.from({ length: before ?? 0 }, () => ""),
    );
    if (standing.kind !== "asking") throw new Error("the divider is not asked for");
    // 5 V over 1023 of 1024 codes, times 1 + top / bottom.
    expect(read(standing.question, "47k 10k")).toMatchObject({
      ok: false,
      why: expect.stringContaining("covers 0 V to 28.5 V"),
    });
    expect(read(standing.question, "120k 10k")).toMatchObject({
      ok: true,
      remark: "covers 0 V to 64.9 V",
    });
  });

  it("with a slip of the pen is met with the name that was meant", () => {
    const start = () => compose("board", nothing);
    const answers = ["", "", "Latch"];
    const standing = replay(start, answers);
    if (standing.kind !== "asking") throw new Error("nothing is asked");
    expect(read(standing.question, "lacth")).toMatchObject({
      ok: false,
      why: expect.stringContaining("did you mean latch?"),
    });
  });

  it("taken back leads to the question it answered", () => {
    const start = () => compose("board", nothing);
    const done = answerAll(start, TITLE);
    if (done === null) throw new Error("the dialogue does not end");
    for (let count = 0; count < done.answers.length; count += 1) {
      const standing = replay(start, done.answers.slice(0, count));
      expect(standing).toMatchObject({
        kind: "asking",
        question: { about: done.questions[count] },
      });
    }
  });
});

/** What people and cats type. */
const typed = fc.oneof(
  fc.constantFrom("", "", "", "A", "B", "Y", "own", "latch", "no", "yes", "not", "plate", "A B"),
  fc.constantFrom(
    "48",
    "-24 V",
    "6.3",
    "1 2",
    "0 0",
    "5 10 20 40",
    "47k 10k",
    "1M",
    "3 s",
    "A=high",
  ),
  fc.constantFrom(
    "null",
    "true",
    "12",
    "a: b",
    "# c",
    "- d",
    "{}",
    '"',
    "'",
    "high",
    "__proto__=low",
  ),
  fc.string({ unit: "grapheme", maxLength: 12 }),
  fc.string({ unit: "binary", maxLength: 12 }),
);

describe("any answers", () => {
  it("to the questions of a board end in a file that is taken whole, or in no file", () => {
    let complete = 0;
    fc.assert(
      fc.property(fc.array(typed, { minLength: 4, maxLength: 40 }), fc.nat(7), (texts, shift) => {
        const done = answerAll(
          () => compose("board", nothing),
          {},
          (index) => [
            texts[(index + shift) % texts.length] ?? "",
            "",
            "A",
            "10 20 30 40",
            `N${index}`,
          ],
        );
        if (done === null) return;
        complete += 1;
        const board = documentOf(loadBoard(done.value, "board.yaml"));
        expect(checkBoardAlone({ board }).map(problemLine), done.value).toEqual([]);
      }),
      { numRuns: 150, seed: 31 },
    );
    expect(complete).toBeGreaterThan(50);
  });

  it.each(["rig", "unit", "circuit", "sequence"] as const)(
    "to the questions of a %s end in a file that is taken whole, or in no file",
    (kind) => {
      const board = documentOf(loadBoard(BOARD_TEXT, "board.yaml"));
      const rig = documentOf(
        loadRig(composed("rig", { ...nothing, board: board.value }), "rig.yaml"),
      );
      const atHand = { ...nothing, board: board.value, rig: rig.value };
      let complete = 0;
      fc.assert(
        fc.property(fc.array(typed, { minLength: 4, maxLength: 40 }), (texts) => {
          const done = answerAll(
            () => compose(kind, atHand),
            {},
            (index) => [texts[index % texts.length] ?? "", "", "LV-1"],
          );
          if (done === null) return;
          complete += 1;
          if (kind === "rig") {
            const own = documentOf(loadRig(done.value, "rig.yaml"));
            expect(checkRigOnBoard({ board, rig: own }).map(problemLine), done.value).toEqual([]);
          } else if (kind === "unit") {
            const own = documentOf(loadUnit(done.value, "unit.yaml"));
            expect(
              checkUnit(own, board.value).filter(({ code }) => code !== "LIMITS_DISAGREE"),
            ).toEqual([]);
          } else if (kind === "circuit") documentOf(loadCircuit(done.value, "circuit.yaml"));
          else {
            const sequence = documentOf(loadSequence(done.value, "sequence.yaml"));
            const result = resolvePlan({ board, rig, sequence, sources: [] });
            expect(result.ok ? [] : result.problems.map(problemLine), done.value).toEqual([]);
          }
        }),
        { numRuns: 80, seed: 32 },
      );
      expect(complete).toBeGreaterThan(20);
    },
  );
});

describe("a value written for a person", () => {
  it("is read back as it was, whatever it holds", () => {
    fc.assert(
      fc.property(fc.oneof(fc.string({ unit: "grapheme" }), typed), (text) => {
        expect(parse(`key: ${word(text)}`)).toEqual({ key: text });
        expect(parse(`key: ${flow({ a: [text], b: 1e-10 })}`)).toEqual({
          key: { a: [text], b: 1e-10 },
        });
      }),
      { numRuns: 500, seed: 33 },
    );
  });
});
