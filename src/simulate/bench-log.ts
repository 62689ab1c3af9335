/** What the simulated bench itself sees: the outside witness that safety is judged by. */
import type { RailName } from "../events/levels.ts";
import type { ResetCause } from "./avr/chip.ts";
import type { Fixture, PartChange } from "./fixture.ts";

export type BenchLogEntry = { readonly ms: number } & (
  | { readonly kind: "outputs"; readonly mask: number }
  | {
      readonly kind: "volts";
      readonly rails: Readonly<Record<RailName, number>>;
      readonly nets: Readonly<Record<string, number>>;
    }
  | { readonly kind: "reset"; readonly cause: ResetCause }
  | { readonly kind: "supply"; readonly present: boolean }
  | {
      readonly kind: "link";
      readonly state: "opened" | "closed" | "unplugged" | "losing data" | "carrying data";
    }
  | { readonly kind: "change"; readonly change: PartChange }
  | { readonly kind: "mark"; readonly text: string }
);

/** True volts are looked at this often while anybody listens, emulated ms. */
export const SAMPLE_MS = 1;
/** A set of volts that moved less than this since the last entry is not worth a line. */
const RAIL_STEP_V = 0.05;
const NET_STEP_V = 0.5;
/** Standing still is confirmed this often, emulated ms. */
const STILL_MS = 100;

export interface BenchLog {
  readonly isWatched: boolean;
  listen(listener: (entry: BenchLogEntry) => void): () => void;
  write(entry: BenchLogEntry): void;
  /** Look at the true volts; writes them when they moved, or when `always`. */
  sample(fixture: Fixture, atMs: number, always: boolean): void;
}

function moved(
  before: Readonly<Record<string, number>>,
  now: Readonly<Record<string, number>>,
  stepV: number,
): boolean {
  // Asked every millisecond of a campaign: nothing is allocated.
  for (const name in now) {
    if (Math.abs((now[name] as number) - (before[name] ?? 1e9)) >= stepV) return true;
  }
  return false;
}

function toMillivolt<K extends string>(volts: Readonly<Record<K, number>>): Record<K, number> {
  const entries = Object.entries<number>(volts).map(([name, v]) => [
    name,
    Math.round(v * 1e3) / 1e3,
  ]);
  return Object.fromEntries(entries) as Record<K, number>;
}

export function createBenchLog(): BenchLog {
  const listeners = new Set<(entry: BenchLogEntry) => void>();
  let rails: Readonly<Record<string, number>> = {};
  let nets: Readonly<Record<string, number>> = {};
  let writtenMs = Number.NEGATIVE_INFINITY;
  const write = (entry: BenchLogEntry): void => {
    for (const listener of listeners) {
      listener(entry);
    }
  };
  return {
    get isWatched() {
      return listeners.size > 0;
    },
    listen(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    write,
    sample(fixture, atMs, always) {
      if (listeners.size === 0) {
        return;
      }
      const railsNow = fixture.railVolts(atMs);
      const netsNow = fixture.nodeVolts(atMs);
      if (
        always ||
        atMs - writtenMs >= STILL_MS ||
        moved(rails, railsNow, RAIL_STEP_V) ||
        moved(nets, netsNow, NET_STEP_V)
      ) {
        rails = railsNow;
        nets = netsNow;
        writtenMs = atMs;
        write({
          ms: atMs,
          kind: "volts",
          rails: toMillivolt(railsNow),
          nets: toMillivolt(netsNow),
        });
      }
    },
  };
}
