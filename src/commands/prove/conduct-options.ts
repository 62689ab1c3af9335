/** How long a person may have the board in hand, from the command line. Nothing goes on for ever. */
import { PLAIN_PROOF, type RunConduct } from "../../run/conduct.ts";
import { UsageError } from "../usage-error.ts";

export interface RawConductOptions {
  /** True when the option came without a value. */
  readonly freeze?: string | true;
  readonly standby?: string | true;
  readonly minutes?: string;
}

interface Bounds {
  /** When no number is given. */
  readonly usual: number;
  readonly most: number;
}

const SECOND_MS = 1000;
const MINUTE_MS = 60_000;
/** Long enough to set up an oscilloscope; a board that fails should not run hot for an evening. */
const FREEZE: Bounds = { usual: 300, most: 1800 };
/** Heaters alone, with somebody at the bench. */
const STANDBY: Bounds = { usual: 10, most: 60 };
const HAND: Bounds = { usual: 15, most: 120 };

/** @throws UsageError */
export function readConduct(raw: RawConductOptions, mode: RunConduct["mode"]): RunConduct {
  const { freeze, standby, minutes } = raw;
  const freezeS = freeze === undefined ? null : bounded(freeze, "--freeze", "seconds", FREEZE);
  const standbyMin =
    standby === undefined ? null : bounded(standby, "--standby", "minutes", STANDBY);
  const handMin = bounded(minutes ?? true, "--minutes", "minutes", HAND);
  return {
    ...PLAIN_PROOF,
    mode,
    handMs: handMin * MINUTE_MS,
    freezeMs: freezeS === null ? null : freezeS * SECOND_MS,
    standbyMs: standbyMin === null ? null : standbyMin * MINUTE_MS,
  };
}

/** Default and largest value of a time, for the help. */
export const CONDUCT_HELP = {
  freeze: `at the first step that does not pass stay there with power ON, ${FREEZE.usual} s at most when no number is given (up to ${FREEZE.most})`,
  standby: `after the run keep the heaters on for the next one, ${STANDBY.usual} minutes when no number is given (up to ${STANDBY.most})`,
  minutes: `longest time in hand mode, ${HAND.usual} when left out (up to ${HAND.most})`,
};

function bounded(given: string | true, option: string, unit: string, bounds: Bounds): number {
  const { usual, most } = bounds;
  if (given === true) return usual;
  const value = Number(given);
  if (/^\d+$/.test(given) && value >= 1 && value <= most) return value;
  // An option whose value may be left out takes the folder for it when that comes next.
  const hint = /^[\w./~-]*[A-Za-z/]/.test(given) ? ` Name a folder before ${option}.` : "";
  throw new UsageError(
    `Expected ${option} as whole ${unit} from 1 to ${most}, got ${JSON.stringify(given)}.${hint}`,
  );
}
