/** What a board file means, in words. */
import { inPlace } from "../../events/stage-place.ts";
import type { Board } from "../../formats/board.schema.ts";
import { volts } from "../../plan/divider-range.ts";
import { boardRails } from "../../plan/proof-documents.ts";
import { duration } from "../../plan/quantity-words.ts";

export function boardHeading({ board, revision, title }: Board): string {
  return `Board ${board}, revision ${revision}: ${title}`;
}

/** Rails, limits, contract, stages, loads: all but the heading. */
export function describeBoard(board: Board): string[] {
  const { ceilings, contract, stages, loads = {} } = board;
  const { volV, vilV, vihV, vohV } = contract;
  return [
    "Rails, in the order they are raised:",
    ...boardRails(board).map(({ rail, limits }) => {
      const [lowV, highV] = limits.windowV;
      const current =
        limits.currentMa === undefined ? "" : `; draws ${limits.currentMa.join(" to ")} mA`;
      return `  ${rail}: ${volts(limits.nominalV)}, window ${volts(lowV)} to ${volts(highV)}, ceiling ${volts(limits.ceilingV)}; up within ${duration(limits.riseMs)}, off (${volts(limits.safeV)}) within ${duration(limits.fallMs)}${current}`;
    }),
    `  never more than ${volts(ceilings.betweenRailsV)} between rails, ${volts(ceilings.heaterToCathodeV)} heater to cathode`,
    `  plate after ${duration(board.heaterBeforePlateMs)} of heating`,
    "Level contract:",
    `  low: sent at or below ${volts(volV)} (VOL), taken at or below ${volts(vilV)} (VIL)`,
    `  high: sent at or above ${volts(vohV)} (VOH), taken at or above ${volts(vihV)} (VIH)`,
    `  noise margin ${volts(vilV - volV)} low, ${volts(vohV - vihV)} high; slowest time constant ${duration(board.slowestTimeConstantMs)}`,
    "Stages:",
    ...Object.entries(stages).map(
      ([name, stage]) =>
        `  ${name}: ${stage.type}${inPlace(stage)}, takes ${stage.inputs.join(", ")}, drives ${stage.output}`,
    ),
    ...(Object.keys(loads).length === 0 ? [] : ["Loads it must bear:"]),
    ...Object.entries(loads).map(
      ([name, { net, description }]) =>
        `  ${name} on ${net}${description === undefined ? "" : `: ${description}`}`,
    ),
  ];
}
