/** What a test finds and does not find, in words. */
import type { TestFacts } from "../../logic/generate/board/board-test.ts";

/** Names given in one line at most; the rest are counted. */
const NAMES_MOST = 12;

export function factLines(facts: TestFacts, what: "steps" | "vectors"): string[] {
  const { faults, found, steps, unsure, untestable, notFound, resolution } = facts;
  const { pairsApart, pairs, named } = resolution;
  const percent = pairs === 0 ? 100 : (100 * pairsApart) / pairs;
  return [
    `${steps} ${what} show ${found} of ${faults} classes of stuck-at faults.`,
    `They tell ${pairsApart} of ${pairs} pairs of these apart (${percent.toFixed(1)} %); ${named} answer as no other does.`,
    ...(unsure.length > 0
      ? [
          `Left to chance by the board itself, shown or not as its parts will have it; no ${what} show them surely: ${names(unsure)}.`,
        ]
      : []),
    ...(untestable.length > 0 ? [`Proved that no ${what} show them: ${names(untestable)}.`] : []),
    ...notFound.map(({ fault, places }) =>
      places === 0
        ? `Steps from power-up would show it, but not within the steps allowed and from where these lead: ${fault}.`
        : `Not found in ${places} places searched, which proves nothing: ${fault}.`,
    ),
  ];
}

function names(all: readonly string[]): string {
  const shown = all.slice(0, NAMES_MOST).join(", ");
  return all.length > NAMES_MOST ? `${shown} and ${all.length - NAMES_MOST} more` : shown;
}
