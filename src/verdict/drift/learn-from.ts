/** What a run leaves for the next one of the same unit. */
import type { LearnedLevel, UnitHistory } from "../../events/unit-history.ts";
import type { LevelFit } from "./fit-level.ts";

/** Runs that count: older ones are of a younger cathode. */
const RUNS_MAX = 20;

/**
 * What is known after a run: the sensitivities it ended with, which already rest on those before it.
 *
 * @param trusted levels that did not drift; of the others the older knowledge is kept
 */
export function learnFrom(
  fits: readonly LevelFit[],
  trusted: (fit: LevelFit) => boolean,
  before: UnitHistory | null,
): UnitHistory {
  const levels = fits.flatMap((fit): LearnedLevel[] => {
    const { net, class: level } = fit.series;
    const known = before?.levels.find((one) => one.net === net && one.class === level);
    if (!trusted(fit)) return known === undefined ? [] : [known];
    const size = fit.influences.length;
    return [
      {
        net,
        class: level,
        levelsV: [...(known?.levelsV ?? []), fit.coefficients[0] as number].slice(-RUNS_MAX),
        influences: fit.influences,
        coefficients: [...fit.coefficients.subarray(1)],
        covariance: Array.from({ length: size * size }, (_, at) => {
          const [i, j] = [Math.floor(at / size) + 1, (at % size) + 1];
          return fit.covariance[i * (size + 1) + j] as number;
        }),
      },
    ];
  });
  return { runs: (before?.runs ?? 0) + 1, levels };
}
