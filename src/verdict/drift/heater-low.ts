/**
 * Low levels with the heaters low against those at nominal volts. A cathode with reserve gives up its space charge
 * and hardly notices; one that has little left gives less, and the low level it pulls rises: the most sensitive
 * reading of a weak section there is without taking it out (common practice).
 *
 * What all sections do alike is the rail's and the type's. A section is named for rising more than its sisters, or
 * for rising more at the end of the run than at its beginning while its sisters do not, or for rising by more than the
 * sequence allows: the only way to name one of two that was weak from the beginning.
 */
import { median } from "../../measure/statistics/median.ts";
import { robustZ } from "../../measure/statistics/robust-z.ts";
import type { DriftBoard, DriftSet } from "./drift-set.ts";
import { levelSeries } from "./level-series.ts";
import { type LevelOwners, ownersOf } from "./who-conducts.ts";

/** How far one net's low level rose, volts; null where it was not read in both. */
interface HeaterLowLevel extends LevelOwners {
  readonly net: string;
  /** At nominal volts, of the newest sets that could be compared. */
  readonly levelV: number;
  readonly beginV: number | null;
  /** Null as well where the run took such readings only once. */
  readonly endV: number | null;
}

/** A section that gives less when it is cooler, beyond what its sisters do. */
export interface WeakWhenCooler extends LevelOwners {
  readonly kind: "weak when cooler";
  readonly net: string;
  /** `sisters`: against those of the board; `run`: against itself at the beginning; `limit`: against the file's. */
  readonly against: "sisters" | "run" | "limit";
  readonly riseV: number;
  /** Its low level at nominal volts. */
  readonly levelV: number;
  /** What its sisters did meanwhile, median. */
  readonly othersV: number;
  /** In standard deviations of what healthy sections differ by; beyond the limit, where that names it. */
  readonly sd: number;
  /** The sequence's, volts; null where that is not what names it. */
  readonly limitV: number | null;
}

export interface HeaterLowReport {
  readonly levels: readonly HeaterLowLevel[];
  readonly findings: readonly WeakWhenCooler[];
  /** A rise beyond the sisters', and beyond the beginning, that would have been named. */
  readonly smallestV: {
    readonly sisters: number | null;
    readonly run: number | null;
    readonly limit: number | null;
  };
}

/** Rises of healthy sections of one type differ by so much, by load and tube as new ones do. Volts. */
const SISTERS_SD_V = 0.04;
/** The same section twice in one night, by what rail and room did between. Volts. */
const RUN_SD_V = 0.03;
/** Sets that a run's own noise is told from; with fewer the rig is taken for a quiet one. */
const NOISE_SETS_MIN = 4;
/** Fewer sisters than this have no spread to be held against. */
const SISTERS_MIN = 4;
/** So far out that 500 healthy nights of a dozen nets hardly show one. */
const LIMIT_SD = 5;

/**
 * @param sets all of the run, in the order of time
 * @returns null where no set was taken with the heaters low
 */
export function heaterLow(sets: readonly DriftSet[], board: DriftBoard): HeaterLowReport | null {
  const rows = [...sets.keys()].filter((row) => sets[row]?.moment === "heater low");
  const [first] = rows;
  if (first === undefined) return null;
  const last = rows.length > 1 ? rows.at(-1) : undefined;
  const begin = risesAt(sets, first);
  const end = last === undefined ? null : risesAt(sets, last);
  const levels = [...new Map([...begin, ...(end ?? [])])].map(([net, { levelV }]) => ({
    ...ownersOf(net, board),
    net,
    levelV,
    beginV: begin.get(net)?.riseV ?? null,
    endV: end?.get(net)?.riseV ?? null,
  }));
  const newest = (one: HeaterLowLevel) => one.endV ?? one.beginV;
  const noiseV = noiseOf(sets);
  // A rise is the difference of two sets, what it grew by that of four; each against its sisters' middle.
  const spreadV = {
    sisters: Math.hypot(SISTERS_SD_V, Math.sqrt(2) * noiseV),
    run: Math.hypot(RUN_SD_V, Math.sqrt(8) * noiseV),
  };
  const sisters = standingOut(levels, newest, { against: "sisters", spreadV: spreadV.sisters });
  const known = new Set(sisters.map(({ net }) => net));
  const grown = standingOut(
    levels,
    ({ beginV, endV }) => (beginV === null || endV === null ? null : endV - beginV),
    { against: "run", spreadV: spreadV.run },
  ).filter(({ net }) => !known.has(net));
  for (const { net } of grown) known.add(net);
  const limitV = board.riseMaxV ?? null;
  const beyond = beyondLimit(levels, newest, { limitV, spreadV: spreadV.sisters });
  return {
    levels,
    findings: [...sisters, ...grown, ...beyond.filter(({ net }) => !known.has(net))],
    smallestV: {
      sisters: levels.length < SISTERS_MIN ? null : LIMIT_SD * spreadV.sisters,
      run: end === null ? null : LIMIT_SD * spreadV.run,
      limit: limitV,
    },
  };
}

/**
 * Noise of one set's low level, the worst net's, by successive differences: what drifts slowly drops out.
 *
 * @source J. von Neumann et al., The mean square successive difference, Annals of Mathematical Statistics 12 (1941),
 *   153-162 (from memory)
 */
function noiseOf(sets: readonly DriftSet[]): number {
  const nominal = sets.filter(({ moment }) => moment === "settled" || moment === "end");
  if (nominal.length < NOISE_SETS_MIN) return 0;
  const noises = levelSeries(nominal).flatMap(({ class: level, volts }) => {
    if (level !== "low") return [];
    const steps = Array.from(volts.subarray(1), (one, at) => one - (volts[at] as number));
    const read = steps.filter((one) => !Number.isNaN(one));
    if (read.length + 1 < NOISE_SETS_MIN) return [];
    return [Math.sqrt(read.reduce((sum, one) => sum + one * one, 0) / (2 * read.length))];
  });
  return Math.max(0, ...noises);
}

interface Rise {
  readonly levelV: number;
  readonly riseV: number;
}

/** Mean of each net over the steps that expect it low, against the nominal set beside this one. */
function risesAt(sets: readonly DriftSet[], row: number): Map<string, Rise> {
  const cool = sets[row];
  const nominal = nominalBeside(sets, row);
  const pairs = new Map<string, { readonly cool: number; readonly nominal: number }[]>();
  if (cool === undefined || nominal === undefined) return new Map();
  for (const { step, net, class: expected, volts } of cool.readings) {
    if (expected !== "low" || volts === null) continue;
    const beside = nominal.readings.find((one) => one.step === step && one.net === net);
    if (beside?.volts == null) continue;
    pairs.set(net, [...(pairs.get(net) ?? []), { cool: volts, nominal: beside.volts }]);
  }
  return new Map(
    [...pairs].map(([net, all]) => {
      const levelV = all.reduce((sum, pair) => sum + pair.nominal, 0) / all.length;
      const coolV = all.reduce((sum, pair) => sum + pair.cool, 0) / all.length;
      return [net, { levelV, riseV: coolV - levelV }];
    }),
  );
}

/** The one after it: what was read before may still have been warming up. Before it where the run broke off. */
function nominalBeside(sets: readonly DriftSet[], row: number): DriftSet | undefined {
  return [sets[row + 1], sets[row - 1]].find(
    (one) => one?.leg === sets[row]?.leg && one?.moment !== "heater low",
  );
}

function standingOut(
  levels: readonly HeaterLowLevel[],
  riseOf: (level: HeaterLowLevel) => number | null,
  { against, spreadV }: { readonly against: WeakWhenCooler["against"]; readonly spreadV: number },
): WeakWhenCooler[] {
  const read = levels.flatMap((level) => {
    const riseV = riseOf(level);
    return riseV === null ? [] : [{ level, riseV }];
  });
  if (against === "sisters" && read.length < SISTERS_MIN) return [];
  const rises = read.map(({ riseV }) => riseV);
  const spread = against === "sisters" ? robustZ(rises, spreadV) : null;
  return read.flatMap(({ level: { net, sections, behind, levelV }, riseV }, at) => {
    const others = rises.filter((_, other) => other !== at);
    const othersV = others.length === 0 ? 0 : median(others);
    const sd = spread?.[at] ?? (riseV - othersV) / spreadV;
    if (sd <= LIMIT_SD) return [];
    return [
      {
        kind: "weak when cooler" as const,
        net,
        sections,
        behind,
        against,
        riseV,
        levelV,
        othersV,
        sd,
        limitV: null,
      },
    ];
  });
}

/** Simple acceptance: whoever sets such a limit leaves room for what healthy sections differ by. */
function beyondLimit(
  levels: readonly HeaterLowLevel[],
  riseOf: (level: HeaterLowLevel) => number | null,
  { limitV, spreadV }: { readonly limitV: number | null; readonly spreadV: number },
): WeakWhenCooler[] {
  if (limitV === null) return [];
  return levels.flatMap((level) => {
    const riseV = riseOf(level);
    if (riseV === null || riseV <= limitV) return [];
    const others = levels.flatMap((one) => (one === level ? [] : (riseOf(one) ?? [])));
    const { net, sections, behind, levelV } = level;
    return [
      {
        kind: "weak when cooler" as const,
        net,
        sections,
        behind,
        against: "limit" as const,
        riseV,
        levelV,
        othersV: others.length === 0 ? 0 : median(others),
        sd: (riseV - limitV) / spreadV,
        limitV,
      },
    ];
  });
}
