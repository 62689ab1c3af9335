/** What a person asked of `prove`, checked before anything is opened. */

import type { RigCheckDepth } from "../../events/rig-check.ts";
import type { RunConduct } from "../../run/conduct.ts";
import type { PartChange } from "../../simulate/fixture.ts";
import { readFault, readPace, readSeed } from "../bench-options.ts";
import { UsageError } from "../usage-error.ts";
import { type RawConductOptions, readConduct } from "./conduct-options.ts";
import { type RawSoakOptions, readSoakOptions, type SoakAsked } from "./soak-options.ts";
import {
  type RawTellingOptions,
  readTellingOptions,
  type TellingOptions,
  type TellingSurroundings,
} from "./telling-options.ts";
import { isUnitFile } from "./unit-on-bench.ts";

export interface ProveOptions extends TellingOptions {
  readonly folder: string;
  /** Serial port of a real controller; null for the emulated bench. */
  readonly port: string | null;
  /** A controller by the page of its wire instead of the emulated one with its firmware. */
  readonly modelled: boolean;
  readonly seed: number;
  /** Emulated seconds per real second at most; null as fast as it goes. */
  readonly pace: number | null;
  /** A serial, or the path of a unit file. */
  readonly unit: string | null;
  readonly runs: string;
  /** File for every line of the wire; null for none. */
  readonly wireLog: string | null;
  /** Do not wait for a key at the cautions. */
  readonly yes: boolean;
  readonly faults: readonly PartChange[];
  readonly conduct: RunConduct;
  /** Null unless a soak is asked for. */
  readonly soak: SoakAsked | null;
  /** Go on without the terminal. */
  readonly detach: boolean;
  /** How the rig is checked: before a run quickly, in a check of its own as asked. */
  readonly rigDepth: RigCheckDepth;
}

/** As commander hands them over; every value is text. */
export interface RawProveOptions extends RawConductOptions, RawTellingOptions, RawSoakOptions {
  readonly port?: string;
  readonly modelled?: boolean;
  readonly seed?: string;
  readonly pace?: string;
  readonly unit?: string;
  readonly runs: string;
  readonly wireLog?: string;
  readonly yes?: boolean;
  readonly fault?: readonly string[];
  readonly quick?: boolean;
  readonly detach?: boolean;
}

/** The same before the settings have filled it up. */
export type AskedProveOptions = Omit<RawProveOptions, "runs" | "word"> & {
  readonly runs?: string;
};

export interface Surroundings extends TellingSurroundings {
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
  const telling = readTellingOptions(raw, surroundings);
  if (raw.port !== undefined) refuseWithPort(raw);
  return {
    ...telling,
    folder: folder ?? surroundings.defaultFolder,
    port: raw.port ?? null,
    modelled: raw.modelled === true || raw.night !== undefined,
    seed: readSeed(raw.seed ?? DEFAULT_SEED),
    pace: raw.pace === undefined ? null : readPace(raw.pace),
    unit: readUnit(raw.unit),
    runs: raw.runs,
    wireLog: raw.wireLog ?? null,
    yes: raw.yes === true,
    faults: (raw.fault ?? []).map(readFault),
    detach: raw.detach === true,
    conduct: readConduct(raw, surroundings.mode),
    soak: surroundings.mode === "soak" ? readSoakOptions(raw) : null,
    rigDepth: surroundings.mode === "rig check" && raw.quick !== true ? "full" : "quick",
  };
}

function refuseWithPort(raw: RawProveOptions): void {
  const emulatedOnly = [
    raw.seed === undefined ? null : "--seed",
    raw.pace === undefined ? null : "--pace",
    raw.fault === undefined ? null : "--fault",
    raw.modelled === undefined ? null : "--modelled",
    raw.night === undefined ? null : "--night",
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
