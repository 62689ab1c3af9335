/** A sequence as rows over steps: what each line is driven to, and what each net must read as. */
import type { DrivenLevel, LevelClass } from "../events/levels.ts";
import type { LineLevels, Plan, PlannedStep } from "../events/plan.ts";

interface TimingColumn {
  readonly name: string;
  /** Milliseconds that this part of the sequence lasts; a pattern's is its settling time. */
  readonly lengthMs: number;
  readonly kind: "pattern" | "hold" | "flip";
  /** Lines moved to and fro meanwhile. */
  readonly moved: readonly string[];
}

export interface TimingRow {
  readonly name: string;
  readonly kind: "line" | "net";
  /** One a column: the level driven, or the class expected; null where nothing is said. */
  readonly cells: readonly (DrivenLevel | LevelClass | null)[];
}

export interface Timing {
  readonly columns: readonly TimingColumn[];
  readonly rows: readonly TimingRow[];
}

interface Part {
  readonly column: TimingColumn;
  readonly sets: readonly LineLevels[];
  readonly expect: Readonly<Record<string, LevelClass>>;
}

export function timingOf(plan: Plan): Timing {
  const parts = plan.steps.flatMap(partsOf);
  const levels = new Map<string, DrivenLevel>(
    plan.lines.map(({ line, releasedLevel }) => [line, releasedLevel ?? "low"]),
  );
  const driven = parts.map(({ sets }) => {
    for (const set of sets)
      for (const [line, level] of Object.entries(set)) levels.set(line, level);
    return new Map(levels);
  });
  const nets = new Set(parts.flatMap(({ expect }) => Object.keys(expect)));
  return {
    columns: parts.map(({ column }) => column),
    rows: [
      ...plan.lines.map(
        ({ line }): TimingRow => ({
          name: line,
          kind: "line",
          cells: driven.map((at) => at.get(line) ?? null),
        }),
      ),
      ...[...nets].map(
        (net): TimingRow => ({
          name: net,
          kind: "net",
          cells: parts.map(({ expect }) => expect[net] ?? null),
        }),
      ),
    ],
  };
}

/** A hold is two columns: the state held, and the opposite one after the flip. */
function partsOf(step: PlannedStep): Part[] {
  if (step.kind === "pattern") {
    const { name, settleMs, set, expect } = step;
    return [
      { column: { name, lengthMs: settleMs, kind: "pattern", moved: [] }, sets: [set], expect },
    ];
  }
  const { name, forMs, move, flip } = step;
  return [
    {
      column: { name: `${name}, held`, lengthMs: forMs, kind: "hold", moved: move },
      sets: [step.enter, step.release],
      expect: step.expect,
    },
    {
      column: { name: `${name}, flipped`, lengthMs: flip.forMs, kind: "flip", moved: move },
      sets: [flip.enter, flip.release],
      expect: flip.expect,
    },
  ];
}
