/**
 * A section that loses emission in the night, named or not; and what is said of nights in which none does, while
 * rails, room and reference move. Sets are read from the night's fixture by the program's own channels; some
 * nights are lived by the whole program on the modelled bench, and must come to the same.
 */
import type { FigureContext } from "./figure.ts";
import {
  healthyNights,
  type Named,
  nights,
  sigmaOf,
  VOLTS_PER_PERCENT,
  weakJobs,
  weakNights,
} from "./weak-tube/campaign.ts";
import { HOURS } from "./weak-tube/nights.ts";
import type { NightJob, NightResult } from "./weak-tube/worker.ts";

const HEALTHY = 125;
const HEALTHY_FULL = 500;
const FALSE_MAX_FULL = 2;
const WEAK = 125;
const WEAK_FULL = 500;
const ASKED_SIGMA = 5;
const NAMED_MIN = 0.95;
/** Drifts of the curve besides, and nights each. */
const CURVE = [1, 2, 3, 4, 6, 7, 8, 10];
const CURVE_NIGHTS = 10;
const CURVE_NIGHTS_FULL = 100;
const LIVED = 2;
const LIVED_FULL = 20;
const CYCLES_MIN = 2000;
/** A watch that a builder would set by feel. Volts. */
const PLAIN_V = 0.1;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const count = full ? HEALTHY_FULL : HEALTHY;
  say(`${count} healthy nights of ${HOURS} h`);
  const healthy = await healthyNights(count);
  const sigmaV = sigmaOf(healthy);
  tellSigma(healthy, sigmaV, report);
  const falses = healthy.filter(({ findings }) => findings.length > 0).length;
  const falsesMax = full ? FALSE_MAX_FULL : 0;
  report({
    name: "weak-tube, healthy nights with any finding, over all charts together",
    value: falses,
    unit: `of ${count} nights`,
    limit: `<= ${falsesMax}`,
    holds: falses <= falsesMax,
  });

  say(`nights with a weak section, ${ASKED_SIGMA} sigma`);
  const asked = await weakNights(ASKED_SIGMA, full ? WEAK_FULL : WEAK, sigmaV);
  tellNamed(asked, sigmaV, { report, limit: NAMED_MIN });
  tellPlain(healthy, asked, falses, report);
  for (const driftSigma of CURVE) {
    say(`curve at ${driftSigma} sigma`);
    const found = await weakNights(driftSigma, full ? CURVE_NIGHTS_FULL : CURVE_NIGHTS, sigmaV);
    tellNamed(found, sigmaV, { report, limit: null });
  }
  await tellLived(full ? LIVED_FULL : LIVED, sigmaV, { report, say });
}

type Report = FigureContext["report"];

function tellSigma(healthy: readonly NightResult[], sigmaV: number, report: Report): void {
  report({
    name: "weak-tube, sigma: standard deviation of an hour's compensated level against the first two hours",
    value: mv(sigmaV),
    unit: `mV, or ${(sigmaV / VOLTS_PER_PERCENT).toFixed(2)} % of emission; 2 levels, ${healthy.length} healthy nights`,
    limit: "told, not limited",
    holds: true,
  });
  const lows = healthy.flatMap((night) => night.lows);
  const noise = middle(lows.map(({ noiseV }) => noiseV));
  report({
    name: "weak-tube, of it: noise of an hour of twelve sets",
    value: mv(noise / Math.sqrt(12)),
    unit: "mV, median; the rest is what the first two hours cannot know of rails, room and reference",
    limit: "told, not limited",
    holds: true,
  });
  report({
    name: "weak-tube, smallest drift a night says it would see with 95 % chance",
    value: mv(middle(lows.map(({ smallestV }) => smallestV))),
    unit: `mV over the night, median; ${mv(
      quantile(
        lows.map(({ smallestV }) => smallestV),
        0.9,
      ),
    )} in the worst tenth`,
    limit: "told, not limited",
    holds: true,
  });
}

function tellNamed(
  { driftSigma, nights: count, named, otherwise, notSeparable }: Named,
  sigmaV: number,
  { report, limit }: { readonly report: Report; readonly limit: number | null },
): void {
  const share = named / count;
  report({
    name: `weak-tube, right section named alone at a drift of ${driftSigma} sigma over the night`,
    value: percent(share),
    unit:
      `% of ${count} nights, ${mv(driftSigma * sigmaV)} mV; ${otherwise} with another finding, ` +
      `${notSeparable} called not separable`,
    limit: limit === null ? "told, not limited" : `>= ${100 * limit}`,
    holds: limit === null || share >= limit,
  });
}

/** The plain watch twice: by feel, and at the level that had no more false alarms on these very nights. */
function tellPlain(
  healthy: readonly NightResult[],
  { results, nights: count, driftSigma }: Named,
  falses: number,
  report: Report,
): void {
  const rises = healthy.map((night) => Math.max(...Object.values(night.plainRises)));
  const atFeel = rises.filter((one) => one > PLAIN_V).length;
  const hindsightV = [...rises].sort((a, b) => b - a)[falses] ?? 0;
  for (const [how, limitV] of [
    ["set by feel", PLAIN_V],
    ["set by hindsight to as few false alarms", hindsightV],
  ] as const) {
    const seen = results.filter(({ plainRises }) =>
      Object.values(plainRises).some((one) => one > limitV),
    ).length;
    const alarms = how === "set by feel" ? atFeel : falses;
    report({
      name: `weak-tube, for comparison: a fixed threshold of ${mv(limitV)} mV, ${how}`,
      value: percent(seen / count),
      unit: `% of nights at ${driftSigma} sigma raise it, and ${alarms} of ${healthy.length} healthy ones`,
      limit: "told, not limited",
      holds: true,
    });
  }
}

/** Nights lived by the whole program, beside the same nights read. */
async function tellLived(
  count: number,
  sigmaV: number,
  { report, say }: Pick<FigureContext, "report" | "say">,
): Promise<void> {
  say(`${2 * count} nights lived by the whole program`);
  const read: NightJob[] = [
    ...Array.from({ length: count }, (_, at) => ({
      way: "read" as const,
      seed: at + 1,
      loss: null,
    })),
    ...weakJobs(2 * ASKED_SIGMA, count, sigmaV),
  ];
  const lived = read.map((job) => ({ ...job, way: "lived" as const }));
  const results = await nights([...lived, ...read]);
  const [byProgram, byReading] = [results.slice(0, lived.length), results.slice(lived.length)];
  const right = byProgram.filter(({ findings }, at) => {
    const section = read[at]?.loss?.section ?? "";
    return findings.map((one) => one.sections.join()).join() === section;
  }).length;
  const cycles = Math.min(...byProgram.map((one) => one.cycles));
  report({
    name: `weak-tube, nights of the whole program on the modelled bench, ${count} healthy and ${count} at ${2 * ASKED_SIGMA} sigma, rightly told`,
    value: right,
    unit: `of ${lived.length} nights, ${cycles} cycles or more each, verdicts ${[...new Set(byProgram.map((one) => one.verdict))].join(", ")}`,
    limit: `= ${lived.length}, each of ${CYCLES_MIN} cycles or more`,
    holds: right === lived.length && cycles >= CYCLES_MIN,
  });
  const apart = byProgram.flatMap(({ lows }, at) =>
    lows.map(({ driftV, sdV }, which) => {
      const other = byReading[at]?.lows[which];
      return Math.abs(driftV - (other?.driftV ?? Number.NaN)) / Math.hypot(sdV, other?.sdV ?? 0);
    }),
  );
  report({
    name: "weak-tube, drift by the whole program and by its sets alone",
    value: Number(Math.max(...apart).toFixed(2)),
    unit: "standard deviations apart at most",
    limit: "<= 3.5",
    holds: Math.max(...apart) <= 3.5,
  });
}

function mv(volts: number): number {
  return Number((1000 * volts).toFixed(2));
}

function percent(share: number): number {
  return Number((100 * share).toFixed(1));
}

function middle(values: readonly number[]): number {
  return quantile(values, 0.5);
}

function quantile(values: readonly number[], part: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))] ?? Number.NaN;
}
