/**
 * What the shipped sequences expect, against what Icarus Verilog printed for the same boards and
 * moves. The answers are kept in tests/references/verilog with their netlists and the command that
 * made them; `npm run check:toolchain` asks the simulator again.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { loadProof } from "../../src/commands/proof-folder.ts";
import type { ExpectedClasses, PlannedStep } from "../../src/events/plan.ts";

interface KeptAnswers {
  readonly source: string;
  readonly command: string;
  /** Nets in the order of the digits of `levels`. */
  readonly nets: readonly string[];
  readonly stops: readonly { readonly label: string; readonly levels: string }[];
}

interface ExpectedStop {
  readonly label: string;
  readonly expect: ExpectedClasses;
}

const sequences = join(import.meta.dirname, "../../sequences");
const answers = join(import.meta.dirname, "../references/verilog");
const boards = readdirSync(sequences).sort();
const classOfDigit: Readonly<Record<string, string>> = { "0": "low", "1": "high" };

function keptAnswers(board: string): KeptAnswers {
  return JSON.parse(readFileSync(join(answers, `${board}.json`), "utf8")) as KeptAnswers;
}

/** A hold is read in the state it enters and, flipped, in the opposite one. */
function stopsOf(step: PlannedStep): ExpectedStop[] {
  if (step.kind === "pattern") return [{ label: step.name, expect: step.expect }];
  return [
    { label: `${step.name} / hold`, expect: step.expect },
    { label: `${step.name} / flip`, expect: step.flip.expect },
  ];
}

async function expectedStops(board: string): Promise<ExpectedStop[]> {
  const result = await loadProof(join(sequences, board));
  if (!result.ok) throw new Error(result.problems.map((problem) => problem.reason).join("\n"));
  return result.proof.plan.steps.flatMap(stopsOf);
}

describe("a shipped sequence", () => {
  it.each(boards)("%s expects at every stop what Icarus Verilog printed there", async (board) => {
    const { nets, stops } = keptAnswers(board);
    const expected = await expectedStops(board);
    const seen = expected.map(({ label, expect: classes }, index) => {
      const levels = stops[index]?.levels ?? "";
      const named = Object.keys(classes).map((net) => [
        net,
        classOfDigit[levels[nets.indexOf(net)] ?? ""] ?? "not printed as 0 or 1",
      ]);
      return { label, expect: Object.fromEntries(named) };
    });
    expect(seen).toEqual(expected);
  });

  it.each(boards)("%s stops where the simulator was stopped, and nowhere else", async (board) => {
    const labels = keptAnswers(board).stops.map((stop) => stop.label);
    // A repeated step carries its turn in the plan, "(2 of 4)", and only there.
    const turn = / \(\d+ of \d+\)/;
    const expected = (await expectedStops(board)).map((stop) => stop.label.replace(turn, ""));
    expect(expected).toEqual(labels);
  });

  it.each(boards)("%s asks for both classes of every net the simulator knows", async (board) => {
    const classes = new Map<string, Set<string>>();
    for (const stop of await expectedStops(board)) {
      for (const [net, level] of Object.entries(stop.expect)) {
        classes.set(net, (classes.get(net) ?? new Set()).add(level));
      }
    }
    const asked = keptAnswers(board).nets.map((net) => [net, [...(classes.get(net) ?? [])].sort()]);
    expect(asked).toEqual(keptAnswers(board).nets.map((net) => [net, ["high", "low"]]));
  });
});
