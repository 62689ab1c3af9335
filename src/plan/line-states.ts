/** Which level each driven line has, step by step, as far as files can tell. */
import type { DrivenLevel } from "../events/levels.ts";
import type { LineLevels } from "../events/plan.ts";
import type { Rig } from "../formats/rig.schema.ts";

/** Levels of the lines, changed as the steps go by. A load begins disconnected, that is low. */
export class LineStates {
  readonly #levels = new Map<string, DrivenLevel>();

  constructor(rig: Rig) {
    for (const output of rig.outputs) {
      if (output.drive === "changeover") this.#levels.set(output.line, output.released.level);
      if (output.drive === "load") this.#levels.set(output.line, "low");
    }
  }

  apply(set: LineLevels): void {
    for (const [line, level] of Object.entries(set)) this.#levels.set(line, level);
  }

  level(line: string): DrivenLevel | undefined {
    return this.#levels.get(line);
  }
}
