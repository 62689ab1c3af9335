/** What a unit file says, in words. */
import type { Unit } from "../../formats/unit.schema.ts";
import { blankColdChecks, unitSheet } from "../../plan/check-unit.ts";

export function describeUnit(unit: Unit): string[] {
  return [
    `Unit ${unit.unit} of board ${unit.board}, revision ${unit.revision}`,
    "Tubes:",
    ...Object.entries(unit.tubes).map(([position, { tube, serial, note }]) => {
      const which = serial ? `, ${serial}` : ", not marked";
      return `  ${position}: ${tube}${which}${note === undefined ? "" : ` (${note})`}`;
    }),
    "Cold checks:",
    ...unit.coldChecks.map(({ check, expect, value, by, date }) => {
      const wanted = expect === undefined ? "" : `, expected ${expect}`;
      const done = value
        ? `${value}, by ${by ?? "nobody named"}${date ? ` on ${date}` : ""}`
        : "BLANK";
      return `  ${check}${wanted}: ${done}`;
    }),
    ...blankColdChecks(unitSheet(unit)).map((warning) => `  ! ${warning}`),
  ];
}
