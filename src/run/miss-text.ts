/** One sentence on a reading that did not pass: what was expected, what came, where, what next. */

import type { JudgedReading } from "../events/events.ts";
import type { LevelContract } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import { stagePlace } from "../events/stage-place.ts";
import { isZeroNet, leadOrLoadText } from "../journal/log-text.ts";
import { readingText } from "../measure/reading-text.ts";
import { rippleText } from "../measure/volts-text.ts";

export function missText(judged: JudgedReading, where: string, plan: Plan): string {
  const stage = plan.stages.find(({ output }) => output === judged.channel);
  const place = stage === undefined ? null : stagePlace(stage);
  const section =
    stage === undefined ? "" : ` (stage ${stage.stage}${place === null ? "" : `, ${place}`})`;
  const found = judged.class === null ? "" : `, ${judged.class}`;
  const next = isZeroNet(judged, plan) ? ` ${leadOrLoadText(judged.channel)}.` : "";
  return (
    `${where}: ${judged.channel}${section} reads ${readingText(judged, plan)}${rippleText(judged)}${found}, ` +
    `expected ${judged.expected} ${limitText(judged, plan.contract)}: ${judged.reason}.${next}`
  );
}

function limitText({ expected, reason }: JudgedReading, contract: LevelContract): string {
  const isShort = reason === "margin short";
  switch (expected) {
    case "low":
      return `(at or below ${isShort ? `VOL ${contract.volV}` : `VIL ${contract.vilV}`} V)`;
    case "high":
      return `(at or above ${isShort ? `VOH ${contract.vohV}` : `VIH ${contract.vihV}`} V)`;
    case "between":
      return `(between VIL ${contract.vilV} V and VIH ${contract.vihV} V)`;
  }
}
