/** What a person could have filled in and did not: said, so that nobody takes a blank for an answer. */
import type { AcceptanceRecord } from "./acceptance-record.ts";

export function blanksOf({ unit, unitSheet, release }: AcceptanceRecord): string[] {
  const { tubes = [], coldChecks = [] } = unitSheet ?? {};
  const unmarked = tubes.filter(({ serial }) => serial === null).map(({ position }) => position);
  const unchecked = coldChecks.filter(({ value }) => value === null).map(({ check }) => check);
  return [
    ...(unit === null ? ["the serial of the unit"] : []),
    ...(unitSheet === undefined ? ["which tubes were in which position"] : []),
    ...(unmarked.length > 0 ? [`the serial of the tube in ${unmarked.join(", ")}`] : []),
    ...unchecked.map((check) => `cold check: ${check}`),
    ...(release !== null && release.by === null ? ["who released it"] : []),
  ];
}
