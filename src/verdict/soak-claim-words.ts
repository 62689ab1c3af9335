/** What a soak allows to be claimed, in sentences: counts, bounds, conditions, and what was not shown. */
import { duration } from "../plan/quantity-words.ts";
import { partText, rounded } from "./chance-words.ts";
import type { SoakClaim, SoakConditions, SoakCounted } from "./soak-claim.ts";

const HOUR_MS = 3_600_000;

export function claimWords({
  confidence,
  counted,
  conditions,
  byCycle,
  byHour,
}: SoakClaim): string[] {
  const level = partText(confidence);
  const { errors, cycles } = counted;
  const often =
    byCycle.upper >= 1
      ? `Nothing can be said with ${level} confidence of how often it goes wrong.`
      : `With ${level} confidence fewer than 1 in ${rounded(1 / byCycle.upper)} cycles goes wrong, and it runs for longer than ${hoursText(byHour.lower)} from one error to the next on average.`;
  const between =
    errors === 0
      ? []
      : [
          `Seen: 1 in ${rounded(cycles / errors)} cycles (${level} interval 1 in ${rounded(1 / byCycle.interval.high)} to 1 in ${rounded(1 / byCycle.interval.low)}).`,
        ];
  return [
    countWords(counted),
    ...between,
    often,
    conditionWords(conditions),
    `It supposes that the rate stays as it is and that errors know nothing of each other. What was not cycled, and what happened between readings, is not in it.`,
    ...stopWords(counted),
  ];
}

function countWords({ cycles, errors, unjudged, hours }: SoakCounted): string {
  const wrong =
    errors === 0 ? "none wrong" : `wrong at ${errors} separate ${errors === 1 ? "time" : "times"}`;
  const without =
    unjudged === 0 ? "" : ` ${unjudged} more gave no ground to judge and count for nothing.`;
  return `${cycles} cycles judged, ${wrong}, in ${hoursText(hours)} on power.${without}`;
}

function conditionWords({
  unit,
  steps,
  powerCycles,
  celsius,
  rails,
  gaps,
}: SoakConditions): string {
  const parts = [
    unit === null ? "one unit" : `unit ${unit}`,
    `the ${steps} steps of this cycle`,
    powerCycles === 1 ? "powered up once" : `powered up ${powerCycles} times`,
    celsius === null
      ? "temperature not measured"
      : `${celsius[0].toFixed(1)} to ${celsius[1].toFixed(1)} degC`,
    ...rails.map(({ rail, lowV, highV }) => `${rail} ${lowV.toFixed(2)} to ${highV.toFixed(2)} V`),
  ];
  if (gaps > 0) parts.push(`${gaps} ${gaps === 1 ? "gap" : "gaps"} in which nothing was watched`);
  return `Holds for ${parts.join(", ")}.`;
}

function stopWords({ stop }: SoakCounted): string[] {
  if (stop === "planned end") return [];
  return stop === "errors"
    ? ["Errors ended the soak; the bounds are those of counting up to an error."]
    : [
        "The soak did not reach its planned end; the bounds hold if what ended it had nothing to do with how the cycles came out.",
      ];
}

/** Without false fineness: minutes below a day. */
function hoursText(hours: number): string {
  return hours < 24 ? duration(hours * HOUR_MS) : `${rounded(hours)} h`;
}
