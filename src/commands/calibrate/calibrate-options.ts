/** What a person asked of `calibrate`, checked before anything is opened. */
import { isAbsolute, relative, resolve } from "node:path";
import { DAY_PATTERN } from "../../formats/calibration.schema.ts";
import { packageFolder } from "../package-folder.ts";
import type { ProveOptions } from "../prove/prove-options.ts";
import { UsageError } from "../usage-error.ts";

/** As commander hands them over; every value is text. */
export interface RawCalibrateOptions {
  readonly channels?: string;
  readonly into?: string;
  readonly meter?: string;
  readonly meterChecked?: string;
  readonly meterPercent?: string;
  readonly meterVolts?: string;
  readonly meterPort?: string;
  readonly meterBaud?: string;
  readonly by?: string;
  readonly expires?: string;
  readonly points?: string;
  readonly codes?: string;
  readonly resume?: string;
  readonly keep?: boolean;
}

/** What is known of the meter before anybody was asked. */
export interface MeterAsked {
  readonly name: string | null;
  readonly checked: string | null;
  readonly percent: number | null;
  readonly volts: number | null;
}

export interface CalibrateOptions {
  readonly prove: ProveOptions;
  /** Null for all that carry volts of a board. */
  readonly channels: readonly string[] | null;
  /** Folder whose `calibrations` the file goes into. */
  readonly into: string;
  readonly meter: MeterAsked;
  readonly meterPort: { readonly path: string; readonly baud: number } | null;
  readonly by: string | null;
  readonly expires: string;
  readonly pointsFile: string | null;
  readonly codesFile: string | null;
  readonly draft: string | null;
  /** Write it into the controller too. */
  readonly keep: boolean;
  /** Day it is, UTC. */
  readonly today: string;
  /** Time it is, with offset. */
  readonly now: string;
}

const BAUD_USUAL = 9600;
const BY_LENGTH_MAX = 12;
const PERCENT_MAX = 10;
const VOLTS_MAX = 10;

/** @throws UsageError in one sentence: what was expected, what came */
export function readCalibrateOptions(
  raw: RawCalibrateOptions,
  prove: ProveOptions,
  now: string,
): CalibrateOptions {
  const today = now.slice(0, "2026-05-01".length);
  const expires = day("--expires", raw.expires) ?? aYearAfter(today);
  if (expires <= today) {
    throw new UsageError(`Expected --expires after today, ${today}, got ${expires}.`);
  }
  const checked = day("--meter-checked", raw.meterChecked);
  refuseLaterThan(today, checked);
  const sources = [raw.points, raw.codes, raw.meterPort].filter((one) => one !== undefined);
  if (sources.length > 1) {
    throw new UsageError("Expected one of --points, --codes and --meter-port, got more.");
  }
  if (raw.by !== undefined && (raw.by.trim() === "" || raw.by.length > BY_LENGTH_MAX)) {
    throw new UsageError(`Expected --by as 1 to ${BY_LENGTH_MAX} characters, got "${raw.by}".`);
  }
  if (raw.codes !== undefined && raw.keep === true) {
    throw new UsageError(
      "Expected --keep with a controller, got --codes, which needs none. Use identify --keep after.",
    );
  }
  return {
    prove,
    channels:
      raw.channels === undefined ? null : raw.channels.split(",").map((name) => name.trim()),
    into: intoOf(raw.into, prove.folder),
    meter: {
      name: raw.meter?.trim() ?? null,
      checked,
      percent: within("--meter-percent", raw.meterPercent, PERCENT_MAX),
      volts: within("--meter-volts", raw.meterVolts, VOLTS_MAX),
    },
    meterPort: meterPortOf(raw),
    by: raw.by?.trim() ?? null,
    expires,
    pointsFile: raw.points ?? null,
    codesFile: raw.codes ?? null,
    draft: raw.resume ?? null,
    keep: raw.keep === true,
    today,
    now,
  };
}

/** @throws UsageError */
export function refuseLaterThan(today: string, checked: string | null): void {
  if (checked === null || checked <= today) return;
  throw new UsageError(
    `Expected the meter's own check on a day up to today, ${today}, got ${checked}.`,
  );
}

/** A calendar day as it is, or null for none. @throws UsageError */
export function day(option: string, text: string | undefined): string | null {
  if (text === undefined) return null;
  if (!DAY_PATTERN.test(text) || Number.isNaN(Date.parse(text))) {
    throw new UsageError(`Expected ${option} as a day such as 2026-05-01, got "${text}".`);
  }
  return text;
}

function aYearAfter(today: string): string {
  const year = Number(today.slice(0, 4)) + 1;
  const rest = today.slice(4) === "-02-29" ? "-03-01" : today.slice(4);
  return `${year}${rest}`;
}

export function within(option: string, text: string | undefined, most: number): number | null {
  if (text === undefined) return null;
  const value = Number(text);
  if (text.trim() === "" || !(value >= 0 && value <= most)) {
    throw new UsageError(`Expected ${option} as a number from 0 to ${most}, got "${text}".`);
  }
  return value;
}

function meterPortOf({ meterPort, meterBaud }: RawCalibrateOptions): CalibrateOptions["meterPort"] {
  if (meterPort === undefined) {
    if (meterBaud === undefined) return null;
    throw new UsageError("Expected --meter-baud with --meter-port, got it alone.");
  }
  const baud = Number(meterBaud ?? BAUD_USUAL);
  if (!Number.isInteger(baud) || baud < 300 || baud > 4_000_000) {
    throw new UsageError(`Expected --meter-baud as a speed such as 9600, got "${meterBaud}".`);
  }
  return { path: meterPort, baud };
}

/** The examples that come with the program stay as they are. */
function intoOf(asked: string | undefined, folder: string): string {
  const into = asked ?? folder;
  const inside = relative(resolve(packageFolder, "sequences"), resolve(into));
  if (!inside.startsWith("..") && !isAbsolute(inside)) {
    throw new UsageError(
      `Expected a folder of your own for the calibration, got ${into}, which is an example. Say --into FOLDER.`,
    );
  }
  return into;
}

/** The same command once more, with what was measured; a line to copy. */
export function goOnLine(options: CalibrateOptions, draft: string): string {
  const { prove, channels, into, meterPort, by, expires } = options;
  const words = [
    ["--port", prove.port],
    ["--channels", channels?.join(",") ?? null],
    ["--meter-port", meterPort?.path ?? null],
    ["--meter-baud", meterPort === null ? null : String(meterPort.baud)],
    ["--by", by],
    ["--expires", expires],
    ["--into", into],
    ["--resume", draft],
  ] as const;
  const given = words.flatMap(([option, value]) => (value === null ? [] : [option, quoted(value)]));
  return ["holdfast calibrate", quoted(prove.folder), ...given].join(" ");
}

/** For a shell, where it holds anything but letters, digits and a few marks. */
function quoted(text: string): string {
  return /^[\w./:,@+-]+$/.test(text) ? text : `'${text.replaceAll("'", "'\\''")}'`;
}
