import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Literal, satisfy } from "../../../src/logic/generate/satisfy.ts";

const options = { conflictsMost: 100_000, prefer: () => 0 as const };

/** Every assignment, one after the other. */
function triedOut(variableCount: number, clauses: readonly (readonly Literal[])[]): boolean {
  return Array.from({ length: 2 ** variableCount }, (_, bits) => bits).some((bits) =>
    clauses.every((clause) =>
      clause.some((literal) => ((bits >> (literal >> 1)) & 1) === 1 - (literal & 1)),
    ),
  );
}

/** Pigeons in one hole less than they are: never true, and hard for a search that does not learn. */
function pigeons(holes: number) {
  const variable = (pigeon: number, hole: number) => pigeon * holes + hole;
  const clauses: number[][] = [];
  for (let pigeon = 0; pigeon <= holes; pigeon++) {
    clauses.push(Array.from({ length: holes }, (_, hole) => 2 * variable(pigeon, hole)));
    for (let other = 0; other < pigeon; other++)
      for (let hole = 0; hole < holes; hole++)
        clauses.push([2 * variable(pigeon, hole) + 1, 2 * variable(other, hole) + 1]);
  }
  return { variableCount: (holes + 1) * holes, clauses };
}

describe("satisfy", () => {
  it("agrees with trying every assignment", () => {
    const found = { true: 0, "never true": 0, "not decided": 0 };
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 10 }).chain((variableCount) =>
          fc.record({
            variableCount: fc.constant(variableCount),
            clauses: fc.array(
              fc.array(fc.integer({ min: 0, max: 2 * variableCount - 1 }), {
                minLength: 1,
                maxLength: 3,
              }),
              { minLength: 3 * variableCount, maxLength: 6 * variableCount },
            ),
          }),
        ),
        (formula) => {
          const answer = satisfy(formula, options);
          found[answer.kind] += 1;
          const can = triedOut(formula.variableCount, formula.clauses);
          expect(answer.kind).toBe(can ? "true" : "never true");
          if (answer.kind === "true") {
            const met = formula.clauses.every((clause) =>
              clause.some((literal) => answer.values[literal >> 1] === 1 - (literal & 1)),
            );
            expect(met).toBe(true);
          }
        },
      ),
      { numRuns: 600, seed: 8 },
    );
    expect(Math.min(found.true, found["never true"])).toBeGreaterThan(50);
  });

  it("proves that seven pigeons do not fit six holes", () => {
    expect(satisfy(pigeons(6), options).kind).toBe("never true");
  });

  it("says that it has not decided when its dead ends are used up", () => {
    expect(satisfy(pigeons(8), { ...options, conflictsMost: 10 })).toEqual({
      kind: "not decided",
      conflicts: 10,
    });
  });
});
