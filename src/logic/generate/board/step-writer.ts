/** Steps of a sequence, written as the faultless board is taken through them. */
import type { DrivenLevel } from "../../../events/levels.ts";
import type { LineLevels } from "../../../events/plan.ts";
import type { Sequence, SequencePattern } from "../../../formats/sequence.schema.ts";
import type { LineValues } from "../walk-machine.ts";
import type { GoodPlace, GoodWalk } from "./good-walk.ts";

export type SequenceStep = Sequence["steps"][number];

/** Longest name of a step, as the format has it. */
const NAME_LENGTH_MAX = 60;

export interface WriterSetting {
  /** Names of the lines, in the order of the circuit's inputs. */
  readonly lines: readonly string[];
  /** Nets that are read, by number, in the order in which they are to stand. */
  readonly observed: readonly number[];
  readonly settleMs: number;
}

const levelOf = (value: number | undefined): DrivenLevel => (value === 2 ? "high" : "low");

export class StepWriter {
  readonly walk: GoodWalk;
  readonly setting: WriterSetting;
  #place: GoodPlace;
  /** Lines whose level the board has from a step before; any other must be driven again. */
  #driven = new Map<string, DrivenLevel>();

  constructor(walk: GoodWalk, setting: WriterSetting) {
    this.walk = walk;
    this.setting = setting;
    this.#place = walk.powerUp();
  }

  get place(): GoodPlace {
    return this.#place;
  }

  /** Be where something else has taken the board; these lines may stand at either level there. */
  moveTo(place: GoodPlace, unsettled: readonly string[]): void {
    this.#place = place;
    for (const [line, value] of place.lines?.entries() ?? [])
      this.#driven.set(this.setting.lines[line] ?? "", levelOf(value));
    for (const line of unsettled) this.#driven.delete(line);
  }

  /**
   * One step.
   *
   * @param extra loads or the like, set beside the lines
   * @throws Error when the step is not determined: the walk it is from was for another board
   */
  step(lines: LineValues, options: { name?: string; extra?: LineLevels } = {}): SequencePattern {
    const place = this.walk.step(this.#place, lines);
    if (place === null) throw new Error(`step to ${lines.join("")} is not determined`);
    this.#place = place;
    const set: Record<string, DrivenLevel> = {};
    const wanted = { ...this.levels(lines), ...options.extra };
    for (const [line, level] of Object.entries(wanted)) {
      if (this.#driven.get(line) === level) continue;
      this.#driven.set(line, level);
      set[line] = level;
    }
    return {
      step: options.name ?? moveName(set),
      set,
      settleMs: this.setting.settleMs,
      expect: this.expected(place),
    };
  }

  levels(lines: LineValues): Record<string, DrivenLevel> {
    return Object.fromEntries(
      [...lines].map((value, line) => [this.setting.lines[line] ?? "", levelOf(value)]),
    );
  }

  /** Known classes of nets that are read, of all or of some. */
  expected(place: GoodPlace, among?: readonly number[]): Record<string, DrivenLevel> {
    const { nets } = this.walk.subject.circuit;
    return Object.fromEntries(
      this.setting.observed
        .filter((net) => place.values[net] !== 3 && (among === undefined || among.includes(net)))
        .map((net) => [nets[net] ?? "", levelOf(place.values[net])]),
    );
  }
}

/** `CLK high, CLEAR and PRESET low`. */
function moveName(set: LineLevels): string {
  const words = (["high", "low"] as const).flatMap((level) => {
    const lines = Object.keys(set).filter((line) => set[line] === level);
    return lines.length === 0 ? [] : [`${lines.join(" and ")} ${level}`];
  });
  const name = words.join(", ");
  if (name === "") return "as it is";
  return name.length <= NAME_LENGTH_MAX ? name : `${Object.keys(set).length} lines moved`;
}
