/** The uncertainty part of a record's page: what each U is made of, and the risk that is left. */
import { measuredText, uncertaintyText } from "../measure/volts-text.ts";
import type { AcceptanceRecord, RiskRecord } from "./acceptance-record.ts";

/** Below this a chance is told as less than it: the tail of no real distribution is known so far out. */
export const CHANCE_MIN = 1e-6;

/** With more it makes no difference that could be seen. */
const DOF_TOLD_MAX = 200;

export function uncertaintyLines({ rule }: AcceptanceRecord): string[] {
  const { budgets = [], risks = [] } = rule;
  return [
    ...budgets.flatMap(({ channel, class: found, volts, expandedV, k, dof, terms }) => [
      `${channel} ${found}: ${measuredText(volts, { expandedV })}, 95 %, k ${k.toFixed(2)}${dof === null || dof > DOF_TOLD_MAX ? "" : `, ${Math.floor(dof)} degrees of freedom`}`,
      ...terms.map(
        ({ name, shape, u, basis }) => `- ${name}, ${shape}: ${uncertaintyText(u)} V; ${basis}`,
      ),
    ]),
    ...risks.map(riskText),
  ];
}

function riskText({ channel, expected, chance }: RiskRecord): string {
  return `chance that ${channel} ${expected} was beyond its limit at its worst reading: ${chanceText(chance)}`;
}

/** `3.1 %`, or less than anything that can be told apart. */
export function chanceText(chance: number): string {
  return chance < CHANCE_MIN
    ? "below 1 in a million"
    : `${Number((100 * chance).toPrecision(2))} %`;
}
