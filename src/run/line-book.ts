/** What every line was last driven to; lines stand at their released level when a run begins. */
import type { DrivenLevel } from "../events/levels.ts";
import type { LineLevels, Plan, PlannedLine } from "../events/plan.ts";

/** Level of a line with its relay released. A load line is then not connected. */
export function releasedLevel(line: PlannedLine): DrivenLevel {
  return line.releasedLevel ?? "low";
}

export function releasedLevels(plan: Plan): LineLevels {
  const lines = plan.lines.map((line) => [line.line, releasedLevel(line)] as const);
  const trigger = plan.trigger === undefined ? [] : [[plan.trigger.line, "low"] as const];
  return Object.fromEntries([...lines, ...trigger]);
}

export interface DrivenLine {
  readonly line: string;
  readonly channel: string;
  readonly level: DrivenLevel;
  /** When the line was last told to move. */
  readonly sinceMs: number;
}

export class LineBook {
  readonly #plan: Plan;
  readonly #levels = new Map<string, { level: DrivenLevel; sinceMs: number }>();
  readonly #released: LineLevels;
  #closings: Record<string, number> = {};

  constructor(plan: Plan) {
    this.#plan = plan;
    this.#released = releasedLevels(plan);
    for (const line of plan.lines) {
      this.#levels.set(line.line, {
        level: releasedLevel(line),
        sinceMs: Number.NEGATIVE_INFINITY,
      });
    }
  }

  levelOf(line: string): DrivenLevel {
    return this.#levels.get(line)?.level ?? "low";
  }

  note(levels: LineLevels, atMs: number): void {
    for (const [line, level] of Object.entries(levels)) {
      if (this.#levels.get(line)?.level === level) continue;
      this.#levels.set(line, { level, sinceMs: atMs });
      if (level !== this.#released[line]) this.#closings[line] = (this.#closings[line] ?? 0) + 1;
    }
  }

  /** Closings of each line's relay since this was asked last. */
  takeClosings(): Readonly<Record<string, number>> {
    const closings = this.#closings;
    this.#closings = {};
    return closings;
  }

  /** Lines that are read back, with the level each must show. */
  readBack(): DrivenLine[] {
    return this.#plan.lines.flatMap(({ line, channel }) => {
      const driven = this.#levels.get(line);
      return channel === null || driven === undefined ? [] : [{ line, channel, ...driven }];
    });
  }
}
