/** What was asked of a soak, from the command line: its stopping rule and the choices made beforehand. */
import type { Plan } from "../../events/plan.ts";
import type { GoOnAfter, SoakOrder } from "../../events/soak.ts";
import { UsageError } from "../usage-error.ts";

/** As commander hands them over. */
export interface RawSoakOptions {
  readonly hours?: string;
  readonly cycles?: string;
  readonly errors?: string;
  readonly every?: string;
  readonly goOnAfter?: string;
  readonly goOn?: string | true;
  readonly unattended?: boolean;
  readonly night?: string | true;
}

export interface SoakAsked {
  readonly forMs: number | null;
  readonly cycles: number | null;
  readonly errorsMax: number | null;
  /** Null takes what the sequence file says. */
  readonly everyMs: number | null;
  readonly goOn: readonly GoOnAfter[];
  /** The run to go on with: a folder, or empty for the newest; null begins one. */
  readonly brokenOff: string | null;
  readonly unattended: boolean;
  /** A scenario file for the bench for nights, empty for none; null for another bench. */
  readonly night: string | null;
}

const HOUR_MS = 3_600_000;
/** Longest time in one order; heaters that burn for weeks want a rack made for it. */
const SOAK_HOURS_MAX = 168;
/** With somebody at the bench: a shift's patience, and one person's attention. */
const ATTENDED_HOURS_MAX = 4;
const CYCLES_MAX = 10_000_000;
const EVERY_MS_MAX = 3_600_000;

const GO_ON_WORDS: Readonly<Record<string, GoOnAfter>> = {
  link: "link lost",
  crash: "host crash",
  mains: "mains cut",
};

export const SOAK_HELP = {
  hours: `cycle for so many hours, warm and on power (up to ${SOAK_HOURS_MAX})`,
  cycles: "cycle so many times",
  errors: "end after so many wrong cycles; left out, only an error that stays ends it",
  every: "ms from one cycle's start to the next, instead of the sequence file's",
  goOnAfter:
    "power up again by itself after link, crash or mains, parted by commas; nothing by default, and never after a trip",
  goOn: "go on with a soak that was broken off by a crash or a cut, as was chosen for it; the newest run when none is named",
  night:
    "modelled nights, many times as fast as they are long, with what a scenario file has for them (docs/soak.md)",
  unattended: `nobody will be at the bench: needed above ${ATTENDED_HOURS_MAX} h, and has conditions (docs/soak.md)`,
};

/** @throws UsageError */
export function readSoakOptions(raw: RawSoakOptions): SoakAsked {
  const hours = amount(raw.hours, "--hours", { most: SOAK_HOURS_MAX, whole: false });
  const cycles = amount(raw.cycles, "--cycles", { most: CYCLES_MAX, whole: true });
  if (raw.unattended !== true && hours !== null && hours > ATTENDED_HOURS_MAX) {
    throw new UsageError(
      `Expected --hours of at most ${ATTENDED_HOURS_MAX} with somebody at the bench, got ${hours}. With nobody there say --unattended, and read its conditions in docs/soak.md.`,
    );
  }
  const brokenOff = textOf(raw.goOn);
  if (brokenOff !== null) refuseBeside(raw);
  else if (hours === null && cycles === null) {
    throw new UsageError(
      "Expected how long to soak, as --hours N or --cycles N, got neither. `holdfast how-long` tells what an error rate takes to be seen.",
    );
  }
  return {
    forMs: hours === null ? null : hours * HOUR_MS,
    cycles,
    errorsMax: amount(raw.errors, "--errors", { most: CYCLES_MAX, whole: true }),
    everyMs: amount(raw.every, "--every", { most: EVERY_MS_MAX, whole: true }),
    goOn: readGoOn(raw.goOnAfter),
    brokenOff,
    unattended: raw.unattended === true,
    night: textOf(raw.night),
  };
}

/** A soak that goes on is the one that was ordered; its stopping rule is not up for change. */
function refuseBeside({
  hours,
  cycles,
  errors,
  every,
  goOnAfter,
  unattended,
}: RawSoakOptions): void {
  const given = { hours, cycles, errors, every, "go-on-after": goOnAfter, unattended };
  const named = Object.entries(given).filter(([, value]) => value !== undefined);
  if (named.length === 0) return;
  throw new UsageError(
    `Expected --go-on alone, for the order stands in the journal, got --${named.map(([name]) => name).join(" and --")} as well.`,
  );
}

/** Of an option whose value may be left out: empty then, null without the option. */
function textOf(given: string | true | undefined): string | null {
  if (given === undefined) return null;
  return given === true ? "" : given;
}

function amount(
  text: string | undefined,
  option: string,
  { most, whole }: { readonly most: number; readonly whole: boolean },
): number | null {
  if (text === undefined) return null;
  const value = Number(text);
  const isForm = whole ? /^\d+$/.test(text) : /^\d+(\.\d+)?$/.test(text);
  if (isForm && value > 0 && value <= most) return value;
  throw new UsageError(
    `Expected ${option} as a ${whole ? "whole number" : "number"} above 0, at most ${most}, got ${JSON.stringify(text)}.`,
  );
}

function readGoOn(text: string | undefined): GoOnAfter[] {
  if (text === undefined) return [];
  return text.split(",").map((word) => {
    const kind = GO_ON_WORDS[word.trim()];
    if (kind !== undefined) return kind;
    const known = Object.keys(GO_ON_WORDS).join(", ");
    throw new UsageError(
      `Expected --go-on-after as some of ${known}, parted by commas, got ${JSON.stringify(text)}.`,
    );
  });
}

/**
 * The order of a soak: what its sequence says of a cycle, what was asked, nothing left open.
 *
 * @throws UsageError when the sequence has no cycle, or is asked to cycle faster than its steps settle
 */
export function soakOrder(asked: SoakAsked, plan: Plan): SoakOrder {
  const soak = soakOf(plan);
  const everyMs = asked.everyMs ?? soak.everyMs;
  const leastMs = soak.cycle.reduce((sum, { settleMs }) => sum + settleMs, 0);
  if (everyMs !== 0 && everyMs <= leastMs) {
    throw new UsageError(
      `Expected --every above ${leastMs} ms, which the steps of one cycle settle for, got ${everyMs}.`,
    );
  }
  return {
    cycle: soak.cycle,
    forMs: asked.forMs,
    cycles: asked.cycles,
    errorsMax: asked.errorsMax,
    everyMs,
    readEveryMs: soak.readEveryMs,
    power: soak.power,
    dwell: soak.dwell,
    ...(soak.heaterLow === undefined ? {} : { heaterLow: soak.heaterLow }),
    goOn: asked.goOn,
    attendance: asked.unattended ? "unattended" : "attended",
  };
}

/** @throws UsageError when the sequence says nothing of a cycle */
export function soakOf({ soak, sequence }: Plan): NonNullable<Plan["soak"]> {
  if (soak !== undefined) return soak;
  throw new UsageError(
    `Expected a soak section in sequence ${sequence.name}, there is none: add one with the steps of one cycle (docs/soak.md).`,
  );
}
