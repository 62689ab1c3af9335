/** A comparison as lines of text. */
import { UNITS_LEAST, Z_FAR } from "../../history/among-sisters.ts";
import type { LevelChange } from "../../history/compare-runs.ts";
import type { SocketChange } from "../../history/socket-changes.ts";
import { uncertaintyText, voltsText } from "../../measure/volts-text.ts";
import type { AgainstRun, Comparison } from "../compare.ts";
import { changeText, momentText, outcomeText } from "./history-words.ts";
import { textTable } from "./text-table.ts";

export function comparisonLines({ now, runs, sisters }: Comparison): string[] {
  const simulated = now.bench === "emulated" ? " Simulated." : "";
  return [
    `${now.unit ?? "a unit without a name"}, ${now.board} revision ${now.revision}, ` +
      `${now.run}: ${outcomeText(now)}.${simulated}`,
    ...(runs.length === 0 ? ["", "No earlier proof of this unit to hold it against."] : []),
    ...runs.flatMap(againstLines),
    ...sisterLines(sisters),
  ];
}

function againstLines({ against, earlier, levels, sockets, differences }: AgainstRun): string[] {
  return [
    "",
    `Against its ${against}, ${momentText(earlier.opened)}, ${earlier.run}: ${outcomeText(earlier)}`,
    ...textTable(
      ["level", "then", "now", "change", "U of it", ""],
      levels.map((level) => [
        `${level.channel} ${level.expected}`,
        voltsText(level.thenV),
        voltsText(level.nowV),
        changeText(level.changeV),
        level.expandedV === null ? "" : `${uncertaintyText(level.expandedV)} V`,
        FOUND[level.found],
      ]),
      ["left", "right", "right", "right", "right", "left"],
    ),
    ...summary(levels),
    ...sockets.flatMap(socketLines),
    ...differences.map((one) => `Note: ${one} between the two.`),
  ];
}

const FOUND: Readonly<Record<LevelChange["found"], string>> = {
  changed: "changed",
  "within uncertainty": "",
  "not evaluated": "uncertainty not evaluated",
};

function summary(levels: readonly LevelChange[]): string[] {
  if (levels.length === 0) return ["No level was read in both."];
  const changed = levels.filter(({ found }) => found === "changed");
  const open = levels.filter(({ found }) => found === "not evaluated");
  if (open.length === levels.length) {
    return ["Whether anything changed cannot be told: the uncertainty was not evaluated."];
  }
  const names = changed.map(({ channel, expected }) => `${channel} ${expected}`);
  return [
    changed.length === 0
      ? "Nothing changed beyond what both readings are uncertain by."
      : `Changed beyond what both readings are uncertain by: ${names.join(", ")}.`,
  ];
}

function socketLines({ position, earlier, now, tube, levels }: SocketChange): string[] {
  const changed = levels.filter(({ found }) => found === "changed");
  const nets = changed.map(
    ({ section, channel, expected, changeV }) =>
      `section ${section} ${channel} ${expected} ${changeText(changeV)}`,
  );
  const went = nets.length === 0 ? "no level of it changed" : nets.join(", ");
  switch (tube) {
    case "the same":
      return [`${position}: the same tube ${now ?? ""}; ${went}.`];
    case "another":
      return [`${position}: another tube, ${earlier ?? ""} then, ${now ?? ""} now; ${went}.`];
    case "not known":
      return nets.length === 0 ? [] : [`${position}: tubes not named in both runs; ${went}.`];
  }
}

function sisterLines(sisters: Comparison["sisters"]): string[] {
  const units = Math.max(0, ...sisters.map((one) => one.units));
  if (units === 0) return [];
  if (units < UNITS_LEAST) {
    const others = units - 1;
    const have = others === 0 ? "none has" : others === 1 ? "one has" : `${others} have`;
    return [
      "",
      `Among its sisters: ${have} a proof; from ${UNITS_LEAST} units on one that is off can be told.`,
    ];
  }
  const far = sisters.filter(({ z }) => z !== null && Math.abs(z) > Z_FAR);
  return [
    "",
    `Among ${units} units of this board, by the newest proof of each:`,
    ...textTable(
      ["level", "this", "middle", "robust z", ""],
      sisters.map(({ channel, expected, volts, medianV, z }) => [
        `${channel} ${expected}`,
        voltsText(volts),
        voltsText(medianV),
        z === null ? "" : z.toFixed(1),
        z !== null && Math.abs(z) > Z_FAR ? "far from its sisters" : "",
      ]),
      ["left", "right", "right", "right", "left"],
    ),
    far.length === 0
      ? `No level lies more than ${Z_FAR} robust standard deviations from the middle.`
      : `Far is more than ${Z_FAR} robust standard deviations from the middle (NIST/SEMATECH 1.3.5.17).`,
  ];
}
