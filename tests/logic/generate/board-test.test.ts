import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { type Board, loadBoard } from "../../../src/formats/board.schema.ts";
import { documentOf } from "../../../src/formats/load-document.ts";
import { type Sequence, sequenceSchema } from "../../../src/formats/sequence.schema.ts";
import { boardTest } from "../../../src/logic/generate/board/board-test.ts";
import { boardLogic } from "../../../src/logic/netlist/from-board.ts";
import { SlowTernary } from "../lanes/slow-ternary.ts";

const TIMES = { settleMs: 100, warmUpTimeoutMs: 60_000, slowestTimeConstantMs: 10 };

function shipped(name: string): Board {
  const file = `sequences/${name}/board.yaml`;
  return documentOf(loadBoard(readFileSync(file, "utf8"), file)).value;
}

function made(board: Board, more: { instantLines?: string[]; seed?: number } = {}) {
  return boardTest({
    board,
    read: null,
    loads: ["LAMP"],
    instantLines: more.instantLines ?? [],
    contactLines: more.instantLines ? [] : null,
    times: TIMES,
    seed: more.seed ?? 1,
    stepsMost: 300,
  });
}

type Levels = Readonly<Record<string, string>> | undefined;

/** One thing a board goes through: lines driven, and what must then read so. */
interface Stop {
  readonly label: string;
  readonly set: Levels;
  readonly expect: Levels;
}

/** A hold as it is run: in, out, every other line to and fro, the flip, out, and to and fro again. */
function stopsOf(steps: Sequence["steps"]): Stop[] {
  return steps.flatMap((step): Stop[] => {
    if ("repeat" in step)
      return Array.from({ length: step.repeat }, () => stopsOf(step.steps)).flat();
    if ("hold" in step) {
      const wander = (label: string, expected: Levels) =>
        [...step.move, ...step.move].flatMap((line) =>
          ["high", "low"].map((level) => ({ label, set: { [line]: level }, expect: expected })),
        );
      return [
        { label: step.hold, set: step.enter, expect: {} },
        { label: step.hold, set: step.release, expect: step.expect },
        ...wander(step.hold, step.expect),
        { label: `${step.hold}, flip`, set: step.flip.enter, expect: {} },
        { label: `${step.hold}, flip`, set: step.flip.release, expect: step.flip.expect },
        ...wander(`${step.hold}, flip`, step.flip.expect),
      ];
    }
    return "step" in step ? [{ label: step.step, set: step.set, expect: step.expect }] : [];
  });
}

/** The faultless board, the plain way, taken through stops from power-up: what it does otherwise than expected. */
function contradictions(board: Board, stops: readonly Stop[]): string[] {
  const { netlist } = boardLogic(board);
  const copy = new SlowTernary(netlist, [], new Map());
  const levels = new Map<string, string>();
  return stops.flatMap(({ label, set, expect: expected }) => {
    for (const [line, level] of Object.entries(set ?? {})) levels.set(line, level);
    copy.step(
      new Map(
        netlist.inputs.map((line) => {
          const level = levels.get(line);
          return [line, level === undefined ? "X" : level === "high" ? "1" : "0"] as const;
        }),
      ),
    );
    return Object.entries(expected ?? {}).flatMap(([net, level]) => {
      const value = copy.reading(net);
      return value === (level === "high" ? "1" : "0") ? [] : [`${label}: ${net} is ${value}`];
    });
  });
}

const BOARDS = ["flasher-latch", "sector-latch", "watch-adder", "fog-divider", "blast-ring"];

describe("boardTest", () => {
  it.each(BOARDS)(
    "writes for %s what the faultless board does, holds and counts among it",
    (name) => {
      const board = shipped(name);
      const { sequence } = made(board);
      expect(sequenceSchema.parse(sequence)).toEqual(sequence);
      const stops = stopsOf(sequence.steps);
      expect(stops.length).toBeGreaterThan(3);
      expect(contradictions(board, stops)).toEqual([]);
    },
  );

  it.each(BOARDS)("gives %s a soak cycle that may follow itself and begin anywhere", (name) => {
    const board = shipped(name);
    const { sequence } = made(board);
    const cycle = stopsOf(sequence.soak?.cycle ?? []);
    expect(cycle.length).toBeGreaterThan(1);
    expect(contradictions(board, [...cycle, ...cycle])).toEqual([]);
  });

  it.each(BOARDS)(
    "pulls every net of %s low in warm-up, each under one pattern, from any state",
    (name) => {
      const board = shipped(name);
      const { sequence, neverLow } = made(board);
      const { exercise } = sequence.warmUp;
      expect(neverLow).toEqual([]);
      const outputs = Object.values(board.stages).map(({ output }) => output);
      expect(exercise.flatMap(({ pullsLow }) => pullsLow).sort()).toEqual(outputs.sort());
      for (const { set, pullsLow } of exercise) {
        const low = Object.fromEntries(pullsLow.map((net) => [net, "low"]));
        expect(contradictions(board, [{ label: "warm-up", set, expect: low }])).toEqual([]);
      }
    },
  );

  it("holds the count of a divider with its clock at either level, each latch where it keeps itself", () => {
    const { sequence } = made(shipped("fog-divider"));
    const holds = sequence.steps.filter((step) => "hold" in step);
    expect(holds.map(({ inactive }) => inactive["CLK"]).sort()).toEqual(["high", "low"]);
  });

  it("moves the data of a gated latch while the gate is shut", () => {
    const { sequence } = made(shipped("sector-latch"));
    const [hold] = sequence.steps.filter((step) => "hold" in step);
    expect(hold?.inactive).toEqual({ G: "low" });
    expect(hold?.move).toEqual(["D", "LAMP"]);
  });

  it("drives a ring of three round and back in three pulses of each phase", () => {
    const { sequence } = made(shipped("blast-ring"));
    const [round] = sequence.steps.filter((step) => "repeat" in step);
    const pulses = (line: string) =>
      stopsOf(round?.steps ?? []).filter(({ set }) => set?.[line] === "low").length;
    expect([pulses("PH1N"), pulses("PH2N")]).toEqual([3, 3]);
  });

  it("tries both orders of lines without a contact, and no others", () => {
    const board = shipped("sector-latch");
    expect(made(board).orders).toBe(0);
    const { orders, sequence } = made(board, { instantLines: ["D", "G"] });
    expect(orders).toBe(1);
    expect(contradictions(board, stopsOf(sequence.steps))).toEqual([]);
    const text = JSON.stringify(sequence.steps);
    expect(text).toMatch(/10 of 10 tries, and no proof/);
    expect(text).not.toMatch(/race-free/);
  });

  it("finds an input diode of a latch shorted, for which stuck lines alone need no step", () => {
    const { parts } = made(shipped("flasher-latch"));
    const unshown = [...parts.chanced, ...parts.missed].map(({ kind }) => kind);
    expect(unshown).not.toContain("input shorted");
    expect(parts.shown).toBeGreaterThan(20);
  });

  it("gives the same sequence for the same seed", () => {
    const board = shipped("fog-divider");
    expect(made(board).sequence).toEqual(made(board).sequence);
  });

  it("leaves what it does not know unknown, and says so", () => {
    const board = shipped("flasher-latch");
    const { V1a } = board.stages;
    if (!V1a) throw new Error("no stage V1a");
    const stages = { ...board.stages, V1a: { ...V1a, type: "relay" } };
    const { notModelled, sequence } = made({ ...board, stages });
    expect(notModelled.join(" ")).toMatch(/the logic of relay is not known/);
    const expected = stopsOf(sequence.steps).flatMap((stop) => Object.keys(stop.expect ?? {}));
    expect(expected).not.toContain("QN");
  });
});
