/** `holdfast how-long`: what a soak must be so that it can show what it is to show. */
import { cyclesToSee, cyclesToShow } from "../measure/statistics/demonstration.ts";
import { estimatePassMs } from "../plan/estimate.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { soakOf } from "./prove/soak-options.ts";
import { UsageError } from "./usage-error.ts";

export interface AskedHowLong {
  readonly oneIn: string;
  readonly sure: string;
  readonly allowing: string;
  readonly json?: boolean;
}

const ONE_IN_MAX = 1e9;
const ALLOWING_MAX = 100;

/** @throws UsageError */
export async function howLongCommand(
  folder: string,
  asked: AskedHowLong,
  io: CheckIo,
): Promise<ExitStatus> {
  const oneIn = number("--one-in", asked.oneIn, [2, ONE_IN_MAX]);
  const percent = number("--sure", asked.sure, [50, 99.99]);
  const allowing = Math.floor(number("--allowing", asked.allowing, [0, ALLOWING_MAX]));
  const proof = await proofOrProblems(folder);
  if (proof === null) return EXIT.wrongUsage;
  const { warmUp } = proof.plan;
  const soak = soakOf(proof.plan);
  const cycleMs = Math.max(soak.everyMs, estimatePassMs(soak.cycle, 0));
  const chance = percent / 100;
  const toSee = cyclesToSee(1 / oneIn, chance);
  const toShow =
    allowing === 0
      ? toSee
      : cyclesToShow({ rate: 1 / oneIn, confidence: chance, errorsAllowed: allowing });
  if (asked.json === true) {
    io.out(JSON.stringify({ oneIn, chance, allowing, cycleMs, toSee, toShow }));
    return EXIT.pass;
  }
  const time = (cycles: number) => hoursText(cycles * cycleMs);
  io.out(
    `To see a one-in-${oneIn} error with ${percent} % chance run ${toSee} cycles, ${time(toSee)} at ${cycleMs} ms a cycle.`,
  );
  const with0 = allowing === 0 ? "without an error" : `with ${allowing} errors at most`;
  io.out(
    `${toShow} cycles ${with0}, ${time(toShow)}, show with ${percent} % confidence that it is rarer than that, if cycles are alike and do not hang together.`,
  );
  io.out(
    `On top of it warm-up (up to ${hoursText(warmUp.timeoutMs)}), power cycles and standing still. holdfast soak ${folder} --cycles ${toShow}`,
  );
  return EXIT.pass;
}

function number(option: string, text: string, [least, most]: [number, number]): number {
  const value = Number(text);
  if (text.trim() !== "" && value >= least && value <= most) return value;
  throw new UsageError(`Expected ${option} from ${least} to ${most}, got ${JSON.stringify(text)}.`);
}

/** `25 min`, `1 h 40 min`, `12 days`. */
function hoursText(ms: number): string {
  const minutes = Math.ceil(ms / 60_000);
  if (minutes < 60) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  return hours < 100 ? `${hours} h ${minutes % 60} min` : `${Math.ceil(hours / 24)} days`;
}
