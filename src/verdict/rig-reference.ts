/** Whether the converter compares with what the rig file says: by a known source, or by all supplies at once. */
import type { Plan } from "../events/plan.ts";
import type { RigFacts, RigFinding } from "../events/rig-check.ts";
import { channelVolts } from "../measure/channel-scale.ts";
import { CODE_MAX } from "../measure/divider.ts";
import { ownChannel } from "../measure/rig-own.ts";
import { voltsText } from "../measure/volts-text.ts";
import { finding } from "./rig-fault-words.ts";

/** A reference that is measured is allowed for; one this far off leaves dividers another range. */
const CORRECTED_PART_MAX = 0.12;
/** Beyond what the source itself may be off: a step of the converter at half its range. */
const STEP_PART = 0.002;
/** Supplies that are all off by at least this part, and by the same within that, are not all wrong. */
const COMMON = { least: 0.03, spread: 0.015 };
/** The board's common may stand this far from the controller's before a reading of it says more than noise, volts. */
const GROUND_V = 0.1;

const WHERE = { kind: "reference off", where: "reference", other: null } as const;

/**
 * The converter's reference as a multiple of the rig file's, where a source of known volts tells; 1 where
 * none does, or where it is so far off that it is not allowed for.
 */
export function referenceFactor(codes: Readonly<Record<string, number>>, plan: Plan): number {
  const known = ownChannel(plan.channels, "reference");
  const code = known === null ? undefined : codes[known.channel.name];
  if (known === null || code === undefined || code <= 0) return 1;
  const factor = known.reads.volts / channelVolts(code, known.channel);
  return Math.abs(factor - 1) <= CORRECTED_PART_MAX ? factor : 1;
}

export function referenceFindings({ looks }: RigFacts, plan: Plan): RigFinding[] {
  const codes = looks[0]?.codes ?? {};
  const known = ownChannel(plan.channels, "reference");
  const byKnown = known === null ? undefined : codes[known.channel.name];
  const reference =
    known !== null && byKnown !== undefined
      ? measured(channelVolts(byKnown, known.channel), known.reads)
      : commonToAll(codes, plan);
  return [...reference, ...groundFindings(looks, plan)];
}

function measured(
  readV: number,
  { volts, part }: { readonly volts: number; readonly part: number },
): RigFinding[] {
  if (readV <= 0) return [finding(WHERE, "its channel reads nothing")];
  // What reads high is compared with too little.
  const off = volts / readV - 1;
  if (Math.abs(off) <= part + STEP_PART) return [];
  const severity = Math.abs(off) <= CORRECTED_PART_MAX ? "remark" : "unfit";
  const seen = `a source of ${voltsText(volts)} reads ${voltsText(readV)}: the converter's reference is ${percent(off)} off`;
  return [finding(WHERE, seen, { severity })];
}

/** Three supplies are not off by the same part of themselves by chance. */
function commonToAll(codes: Readonly<Record<string, number>>, plan: Plan): RigFinding[] {
  if (plan.rails.length < 3) return [];
  const ratios: number[] = [];
  for (const { sourceChannel, nominalV } of plan.rails) {
    const channel = plan.channels.find(({ name }) => name === sourceChannel);
    const code = codes[sourceChannel];
    if (channel === undefined || code === undefined || code <= 0 || code >= CODE_MAX) return [];
    ratios.push(channelVolts(code, channel) / nominalV);
  }
  const mean = ratios.reduce((sum, one) => sum + one, 0) / ratios.length;
  const spread = Math.max(...ratios) - Math.min(...ratios);
  const off = 1 / mean - 1;
  if (mean <= 0 || spread > COMMON.spread || Math.abs(off) < COMMON.least) return [];
  const seen = `every supply reads ${percent(mean - 1)} off: the reference is ${percent(off)} off, or all of them are set so`;
  return [finding(WHERE, seen, { severity: "remark" })];
}

function groundFindings(looks: RigFacts["looks"], plan: Plan): RigFinding[] {
  const ground = ownChannel(plan.channels, "ground")?.channel;
  if (ground === undefined) return [];
  const volts = looks.flatMap(({ codes }) => {
    const code = codes[ground.name];
    return code === undefined ? [] : [channelVolts(code, ground)];
  });
  const farV = volts.reduce((far, one) => (Math.abs(one) > Math.abs(far) ? one : far), 0);
  if (Math.abs(farV) < GROUND_V) return [];
  const seen = `the board's common stands ${voltsText(farV)} from the controller's`;
  return [
    finding({ kind: "ground shift", where: "ground", other: null }, seen, { severity: "remark" }),
  ];
}

function percent(part: number): string {
  return `${part > 0 ? "+" : ""}${(100 * part).toFixed(1)} %`;
}
