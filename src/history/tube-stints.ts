/** A tube's way through the rack: each time in one socket is a stint, told from the unit sheets of runs. */
import type { TubeInRun } from "../store/run-index/tube-rows.ts";

export interface Stint {
  readonly serial: string;
  readonly tube: string | null;
  readonly unit: string;
  readonly board: string;
  readonly revision: string;
  readonly bench: TubeInRun["bench"];
  readonly position: string;
  /** Wall time of the first and of the newest run in it. */
  readonly from: string;
  readonly to: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly runs: readonly string[];
  /** Newest closed proof in it; null without one. */
  readonly proof: string | null;
  readonly heaterMs: number;
  readonly plateMs: number;
  readonly heaterOnlyMs: number;
}

/**
 * Stints in the order of their first runs. Units are proved by turns, so a tube is in a new place when its
 * serial turns up elsewhere, and not before; what it did between two runs nobody saw.
 *
 * @param rows oldest first
 */
export function stintsOf(rows: readonly TubeInRun[]): Stint[] {
  const stints: Stint[] = [];
  const present = new Map<string, number>();
  for (const row of rows) {
    const at = present.get(row.serial);
    const last = at === undefined ? undefined : stints[at];
    if (at !== undefined && last !== undefined && isSamePlace(last, row)) {
      stints[at] = goneOn(last, row);
    } else {
      present.set(row.serial, stints.length);
      stints.push(begun(row));
    }
  }
  return stints;
}

function isSamePlace(stint: Stint, row: TubeInRun): boolean {
  return (
    stint.unit === row.unit &&
    stint.board === row.board &&
    stint.position === row.position &&
    stint.bench === row.bench
  );
}

function begun(row: TubeInRun): Stint {
  const { serial, tube, unit, board, revision, bench, position, opened, openedMs } = row;
  return {
    serial,
    tube,
    unit,
    board,
    revision,
    bench,
    position,
    from: opened,
    to: opened,
    fromMs: openedMs,
    toMs: openedMs,
    runs: [row.run],
    proof: proofOf(row),
    heaterMs: row.heaterMs,
    plateMs: row.plateMs,
    heaterOnlyMs: row.heaterOnlyMs,
  };
}

function goneOn(stint: Stint, row: TubeInRun): Stint {
  return {
    ...stint,
    revision: row.revision,
    to: row.opened,
    toMs: row.openedMs,
    runs: [...stint.runs, row.run],
    proof: proofOf(row) ?? stint.proof,
    heaterMs: stint.heaterMs + row.heaterMs,
    plateMs: stint.plateMs + row.plateMs,
    heaterOnlyMs: stint.heaterOnlyMs + row.heaterOnlyMs,
  };
}

function proofOf({ run, mode, seal }: TubeInRun): string | null {
  return mode === "proof" && seal === "closed" ? run : null;
}

/** What took a tube's place in its last socket since; null while nothing did. */
export function replacedBy(last: Stint, all: readonly Stint[]): Stint | null {
  return (
    all.find(
      (other) =>
        other.serial !== last.serial &&
        other.unit === last.unit &&
        other.board === last.board &&
        other.bench === last.bench &&
        other.position === last.position &&
        other.fromMs > last.toMs,
    ) ?? null
  );
}

/** A serial that stands in two sockets of one run: a sheet was copied, or a label is there twice. */
export interface Doubled {
  readonly serial: string;
  readonly run: string;
  readonly positions: readonly string[];
}

export function doubledSerials(rows: readonly TubeInRun[]): Doubled[] {
  const places = new Map<string, TubeInRun[]>();
  for (const row of rows) {
    const key = `${row.run} ${row.serial}`;
    places.set(key, [...(places.get(key) ?? []), row]);
  }
  return [...places.values()].flatMap((found) => {
    const [first] = found;
    if (first === undefined || found.length < 2) return [];
    const { serial, run } = first;
    return [{ serial, run, positions: found.map(({ position }) => position) }];
  });
}
