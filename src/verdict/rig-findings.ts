/**
 * What is wrong with a rig, from what was measured of it. Each finding names what, where and what to do
 * next. Pure: no bench, no disk.
 */
import type { LevelContract } from "../events/levels.ts";
import type { Plan, PlannedChannel } from "../events/plan.ts";
import type { ChannelQuiet, RigFacts, RigFinding, RigLook, Tone } from "../events/rig-check.ts";
import { channelVolts } from "../measure/channel-scale.ts";
import { voltsPerCode } from "../measure/divider.ts";
import { voltsText } from "../measure/volts-text.ts";
import { contactFindings } from "./rig-contacts.ts";
import { faultOf, finding, stateText } from "./rig-fault-words.ts";
import { fitRig, type Unexplained } from "./rig-fit.ts";
import { referenceFindings } from "./rig-reference.ts";

/** Means of windows that differ by more steps than this are no hum of that frequency. */
const MEANS_STEPS = 3;
/** Swing that a quiet lead shows, steps from lowest to highest. */
const QUIET_STEPS = 6;

/** Everything wrong, unfit first. Nothing is said of what was not measured. */
export function rigFindings(facts: RigFacts, plan: Plan): RigFinding[] {
  const restless = facts.quiet.flatMap((quiet) => restlessFinding(quiet, plan));
  // What a channel that moves by itself reads is evidence of nothing else.
  const unread = new Set(restless.map(({ where }) => where));
  const found = [
    ...restless,
    ...(facts.depth === "full" ? fitted(facts.looks, plan, unread) : []),
    ...contactFindings(
      facts.contacts.filter(({ channel }) => !unread.has(channel)),
      plan,
    ),
    ...deadManFindings(facts),
  ];
  const hasReference = found.some(({ kind }) => kind === "reference off");
  found.push(...(hasReference ? [] : referenceFindings(facts, plan)));
  return found.sort((a, b) => rank(a) - rank(b));
}

export function isFit(findings: readonly RigFinding[]): boolean {
  return findings.every(({ severity }) => severity !== "unfit");
}

function rank({ severity }: RigFinding): number {
  return severity === "unfit" ? 0 : 1;
}

/** A channel that moves although nothing is switched: hum, noise, or an input without a source. */
function restlessFinding(quiet: ChannelQuiet, plan: Plan): RigFinding[] {
  const channel = plan.channels.find(({ name }) => name === quiet.channel);
  const swing = quiet.max - quiet.min;
  const [off50, off60] = [spanOf(quiet.means50), spanOf(quiet.means60)];
  const wanders = Math.min(off50, off60) > MEANS_STEPS || drifts(quiet.tone);
  if (channel === undefined || (swing <= QUIET_STEPS && !wanders)) return [];
  const swingV = swing * voltsPerCode(channel.divider, channel.referenceV);
  const seen = `it moves by ${voltsText(swingV)} with nothing switched`;
  const severity = tooMuch(quiet.humV, plan.contract) || isRail(channel) ? "unfit" : "remark";
  const at = { where: channel.name, other: null };
  if (wanders) {
    const means = [...quiet.means50, ...quiet.means60];
    const fromV = channelVolts(Math.min(...means), channel);
    const toV = channelVolts(Math.max(...means), channel);
    const slowly = `${seen}, its mean from ${voltsText(fromV)} to ${voltsText(toV)}`;
    return [finding({ kind: "floating input", ...at }, slowly)];
  }
  const hz = quiet.tone === null ? frequencyOf(off50, off60) : frequencyOfTone(quiet.tone);
  const kind = hz === null ? "noise" : "pick-up";
  const tone = hz === null ? "at no frequency of the mains" : `at ${hz} Hz`;
  const found = `${seen}, ${tone}, amplitude ${voltsText(quiet.humV)}`;
  return [finding({ kind, ...at }, found, { severity })];
}

/** Which periods the swing vanishes in. */
function frequencyOf(off50: number, off60: number): string {
  if (off50 <= MEANS_STEPS && off60 > MEANS_STEPS) return "50";
  if (off60 <= MEANS_STEPS && off50 > MEANS_STEPS) return "60";
  return "50 or 60";
}

/** Part of all that moves which a tone of the mains has to make up: half a hum is cut off at 0 V. */
const TONE_PART = 0.4;

/** Slower than the mains and no noise: what an input without a source does between two windows too. */
const DRIFTS_BELOW = 0.5;

function drifts(tone: Tone | null): boolean {
  if (tone === null || frequencyOfTone(tone) !== null) return false;
  return tone.restless < DRIFTS_BELOW;
}

function frequencyOfTone({ part50, part60 }: Omit<Tone, "restless">): string | null {
  if (Math.max(part50, part60) < TONE_PART) return null;
  return part50 >= part60 ? "50" : "60";
}

function spanOf(means: readonly number[]): number {
  return means.length === 0 ? Number.POSITIVE_INFINITY : Math.max(...means) - Math.min(...means);
}

/** More than half of the smaller noise margin leaves a level no room of its own. */
function tooMuch(humV: number, { volV, vilV, vihV, vohV }: LevelContract): boolean {
  return humV > Math.min(vilV - volV, vohV - vihV) / 2;
}

function isRail({ reads }: PlannedChannel): boolean {
  return reads.kind === "rail";
}

function fitted(looks: readonly RigLook[], plan: Plan, unread: ReadonlySet<string>): RigFinding[] {
  const { explanations, unexplained } = fitRig(plan, looks, unread);
  const explained = explanations.map(({ fault, orElse, shown }) =>
    finding(faultOf(fault), shown.map((one) => cellText(one, plan)).join("; "), {
      orElse: orElse.map(faultOf),
    }),
  );
  const first = new Map<string, Unexplained>();
  for (const one of unexplained) if (!first.has(one.channel)) first.set(one.channel, one);
  const left = [...first.values()].map((one) =>
    finding({ kind: "off its level", where: one.channel, other: null }, cellText(one, plan)),
  );
  return [...explained, ...left];
}

function cellText({ channel, look, code, expected }: Unexplained, plan: Plan): string {
  const [read, wanted] = [code, expected].map((one) => codeText(channel, one, plan));
  return `${channel} reads ${read} with ${stateText(look.state, plan)}, expected about ${wanted}`;
}

function codeText(name: string, code: number, plan: Plan): string {
  const channel = plan.channels.find((one) => one.name === name);
  return channel === undefined
    ? `code ${Math.round(code)}`
    : voltsText(channelVolts(code, channel));
}

/** From the last feed to everything off (invariant 3 of the firmware's page, 7). */
const DEAD_MAN_MS_MAX = 1000;
/** What the wire and a look may take beside it. */
const LOOK_SLACK_MS = 20;

function deadManFindings({ deadMan }: RigFacts): RigFinding[] {
  if (deadMan === null) return [];
  const at = { kind: "dead-man", where: "controller", other: null } as const;
  const { firedMs, falls } = deadMan;
  if (firedMs === null) return [finding(at, "it did not fire although nothing was fed")];
  const late = falls.filter(
    ({ afterMs }) => afterMs === null || afterMs > DEAD_MAN_MS_MAX + LOOK_SLACK_MS,
  );
  if (late.length > 0) {
    const texts = late.map(
      ({ rail, afterMs }) =>
        `${rail} ${afterMs === null ? "stayed on" : `off after ${Math.round(afterMs)} ms`}`,
    );
    return [finding(at, `${texts.join(", ")}, expected at most ${DEAD_MAN_MS_MAX} ms`)];
  }
  const order = falls.map(({ rail }) => rail);
  if (order.length > 1 && order[0] !== "plate") {
    return [finding(at, `rails fell in the order ${order.join(", ")}, expected plate first`)];
  }
  return [];
}
