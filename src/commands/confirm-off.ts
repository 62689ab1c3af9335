/**
 * `holdfast confirm-off`: a person has measured every rail of a rig that was left unproved, and
 * says so with initials and volts. Only then may the rig be energised again.
 */
import { appendFileSync } from "node:fs";
import { join } from "node:path";
import { createRealClock } from "../clock/real-clock.ts";
import type { RailName } from "../events/levels.ts";
import {
  clearStandingBlock,
  readStandingBlock,
  StandingBlockError,
} from "../store/standing-block.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { UsageError } from "./usage-error.ts";

export interface RawConfirmOptions {
  readonly by: string;
  readonly volts: readonly string[];
  readonly runs: string;
}

const RAILS: readonly RailName[] = ["heater", "bias", "plate"];
/**
 * What a meter may read on a rail that is off: stray and residual charge. Lower than any rail's own
 * safe volts, because here nothing else speaks for the rail.
 */
const OFF_V_MAX = 2;
const INITIALS = /^[\p{L}.-]{1,12}$/u;
const CONFIRMED_FILE = "confirmed-off.ndjson";

/** @throws UsageError when initials or volts are missing or do not show every rail off */
export function confirmOffCommand(rig: string, raw: RawConfirmOptions): ExitStatus {
  if (!INITIALS.test(raw.by)) {
    throw new UsageError(`Expected --by as initials, letters only, got "${raw.by}".`);
  }
  const volts = readVolts(raw.volts);
  const standing = standingWords(raw.runs, rig);
  if (standing === null) {
    process.stdout.write(`Rig ${rig} is not blocked in ${raw.runs}; nothing to clear.\n`);
    return EXIT.pass;
  }
  const wall = createRealClock().wallTime();
  const line = JSON.stringify({ rig, by: raw.by, wall, volts, cleared: standing });
  appendFileSync(join(raw.runs, CONFIRMED_FILE), `${line}\n`);
  clearStandingBlock(raw.runs, rig);
  process.stdout.write(`Rig ${rig} is cleared by ${raw.by}. It was blocked: ${standing}\n`);
  return EXIT.pass;
}

/** Why the rig stands blocked; null when it does not. A note that cannot be read is cleared too. */
function standingWords(runs: string, rig: string): string | null {
  try {
    const block = readStandingBlock(runs, rig);
    return block === null ? null : `${block.reason} (run ${block.run}, ${block.wall})`;
  } catch (error) {
    if (error instanceof StandingBlockError) return error.message;
    throw error;
  }
}

function readVolts(texts: readonly string[]): Record<string, number> {
  const volts: Record<string, number> = {};
  for (const text of texts) {
    const match = /^(?<rail>[a-z]+)=(?<volts>[-+]?\d+(?:\.\d+)?)$/.exec(text);
    const rail = RAILS.find((one) => one === match?.groups?.["rail"]);
    if (rail === undefined) {
      throw new UsageError(
        `Expected --volts as RAIL=VOLTS with ${RAILS.join(", ")}, got "${text}".`,
      );
    }
    volts[rail] = Number(match?.groups?.["volts"]);
  }
  const missing = RAILS.filter((rail) => volts[rail] === undefined);
  if (missing.length > 0) {
    throw new UsageError(
      `Expected --volts for every rail as measured by hand, missing ${missing.join(", ")} ` +
        "(a board without bias reads bias=0).",
    );
  }
  const live = RAILS.filter((rail) => Math.abs(volts[rail] ?? Number.NaN) > OFF_V_MAX);
  if (live.length > 0) {
    const read = live.map((rail) => `${rail} ${volts[rail]} V`).join(", ");
    throw new UsageError(
      `Expected every rail at or below ${OFF_V_MAX} V, got ${read}: still live, the block stands.`,
    );
  }
  return volts;
}
