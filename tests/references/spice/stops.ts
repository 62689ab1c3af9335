/**
 * The settled states a shipped sequence goes through, each once per line state: read straight from
 * the YAML, so that neither the plan nor the run has a word in it.
 */
import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { parse } from "yaml";

export type Levels = Readonly<Record<string, "low" | "high">>;

interface Item {
  readonly step?: string;
  readonly hold?: string;
  readonly set?: Levels;
  readonly expect?: Levels;
  readonly enter?: Levels;
  readonly release?: Levels;
  readonly move?: readonly string[];
  readonly flip?: { readonly enter: Levels; readonly release: Levels; readonly expect: Levels };
  readonly steps?: readonly Item[];
}

export interface Stop {
  readonly step: string;
  /** Lines to move, in order, to come here from the stop before. */
  readonly moves: readonly Levels[];
  /** Lines as they stand here. */
  readonly lines: Levels;
  /** What the sequence expects; the state a latch is meant to be in. */
  readonly expect: Levels;
}

export const SHIPPED = [
  "flasher-latch",
  "fog-divider",
  "sector-latch",
  "watch-adder",
  "blast-ring",
] as const;

export function readShipped(board: string, file: string): string {
  return readFileSync(
    join(resolve(import.meta.dirname, "../../../sequences"), board, file),
    "utf8",
  );
}

/** Stops in order; a repeat is walked once, since its rounds are alike. */
export function stopsOf(board: string): Stop[] {
  const { steps } = parse(readShipped(board, "sequence.yaml")) as { steps: readonly Item[] };
  const stops: Stop[] = [];
  let lines: Levels = {};
  const add = (step: string, moves: readonly Levels[], expect: Levels): void => {
    for (const move of moves) lines = { ...lines, ...move };
    stops.push({ step, moves, lines, expect });
  };
  const hold = (
    name: string,
    item: { enter?: Levels; release?: Levels; expect?: Levels },
    move: readonly string[],
  ): void => {
    add(name, [item.enter ?? {}, item.release ?? {}], item.expect ?? {});
    for (const line of move) {
      add(`${name}, ${line} moved`, [{ [line]: "high" }], item.expect ?? {});
      add(`${name}, ${line} back`, [{ [line]: "low" }], item.expect ?? {});
    }
  };
  const walk = (items: readonly Item[]): void => {
    for (const item of items) {
      if (item.steps !== undefined) walk(item.steps);
      if (item.step !== undefined) add(item.step, [item.set ?? {}], item.expect ?? {});
      if (item.hold !== undefined) {
        hold(`${item.hold}: hold`, item, item.move ?? []);
        if (item.flip !== undefined) hold(`${item.hold}: flip`, item.flip, item.move ?? []);
      }
    }
  };
  walk(steps);
  return stops;
}
