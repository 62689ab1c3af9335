/** What a person asked of `prove`, checked before anything is opened. */

import type { RunConduct } from "../../run/conduct.ts";
import { localeIsUtf8 } from "../../screen/glyphs.ts";
import type { PartChange } from "../../simulate/fixture.ts";
import { readFault, readPace, readSeed } from "../bench-options.ts";
import { UsageError } from "../usage-error.ts";
import { type RawConductOptions, readConduct } from "./conduct-options.ts";
import { isUnitFile } from "./unit-on-bench.ts";

export interface ProveOptions {
  readonly folder: string;
  /** Serial port of a real controller; null for the emulated bench. */
  readonly port: string | null;
  readonly seed: number;
  /** Emulated seconds per real second at most; null as fast as it goes. */
  readonly pace: number | null;
  /** A serial, or the path of a unit file. */
  readonly unit: string | null;
  readonly runs: string;
  readonly output: "screen" | "plain" | "json";
  readonly ascii: boolean;
  readonly colour: boolean;
  /** The terminal's bell stays silent. */
  readonly muted: boolean;
  /** Do not wait for a key at the cautions. */
  readonly yes: boolean;
  readonly faults: readonly PartChange[];
  readonly conduct: RunConduct;
}

/** As commander hands them over; every value is text. */
export interface RawProveOptions extends RawConductOptions {
  readonly port?: string;
  readonly seed?: string;
  readonly pace?: string;
  readonly unit?: string;
  readonly runs: string;
  readonly json?: boolean;
  readonly plain?: boolean;
  readonly ascii?: boolean;
  readonly mute?: boolean;
  readonly color: boolean;
  readonly yes?: boolean;
  readonly fault?: readonly string[];
}

export interface Surroundings {
  readonly environment: Readonly<Record<string, string | undefined>>;
  readonly stdoutIsTerminal: boolean;
  readonly defaultFolder: string;
  /** What the command is for. */
  readonly mode: RunConduct["mode"];
}

const UNIT_LENGTH_MAX = 40;
const DEFAULT_SEED = "1";

/** @throws UsageError in one sentence: what was expected, what came */
export function readProveOptions(
  folder: string | undefined,
  raw: RawProveOptions,
  surroundings: Surroundings,
): ProveOptions {
  const { environment, stdoutIsTerminal } = surroundings;
  if (raw.json && raw.plain) {
    throw new UsageError("Expected one of --json and --plain, got both.");
  }
  if (raw.port !== undefined) refuseWithPort(raw);
  // A dumb terminal cannot move its cursor, so a screen would pile up on it.
  const canDraw = stdoutIsTerminal && environment["TERM"] !== "dumb";
  return {
    folder: folder ?? surroundings.defaultFolder,
    port: raw.port ?? null,
    seed: readSeed(raw.seed ?? DEFAULT_SEED),
    pace: raw.pace === undefined ? null : readPace(raw.pace),
    unit: readUnit(raw.unit),
    runs: raw.runs,
    output: raw.json ? "json" : raw.plain || !canDraw ? "plain" : "screen",
    ascii: raw.ascii === true || !localeIsUtf8(environment),
    colour: raw.color && !environment["NO_COLOR"] && canDraw,
    muted: raw.mute === true,
    yes: raw.yes === true,
    faults: (raw.fault ?? []).map(readFault),
    conduct: readConduct(raw, surroundings.mode),
  };
}

function refuseWithPort(raw: RawProveOptions): void {
  const emulatedOnly = [
    raw.seed === undefined ? null : "--seed",
    raw.pace === undefined ? null : "--pace",
    raw.fault === undefined ? null : "--fault",
  ].filter((name) => name !== null);
  if (emulatedOnly.length > 0) {
    throw new UsageError(
      `Expected ${emulatedOnly.join(" and ")} only on the emulated bench, got --port as well.`,
    );
  }
}

function readUnit(text: string | undefined): string | null {
  if (text === undefined) return null;
  const unit = text.trim();
  if (isUnitFile(unit)) return unit;
  if (unit === "" || unit.length > UNIT_LENGTH_MAX || /[\p{Cc}\p{Cf}]/u.test(unit)) {
    throw new UsageError(
      `Expected --unit as a serial of 1 to ${UNIT_LENGTH_MAX} printable characters, got ${JSON.stringify(text)}.`,
    );
  }
  return unit;
}
