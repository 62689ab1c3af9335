/** A soak in sentences for the screen: what is counted, what went wrong, what moves. */
import { driftSoFar } from "../journal/drift-so-far.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import type { SoakSnapshot } from "../journal/soak-snapshot.ts";
import type { DriftFinding, DriftReport } from "../verdict/drift/report.ts";
import { durationText } from "./duration-text.ts";
import { whenText } from "./wall-text.ts";

function cyclesText(count: number): string {
  return `${count} ${count === 1 ? "cycle" : "cycles"}`;
}

/** `3601 cycles, every one right`, or how many were not. */
export function countedText({ counts }: SoakSnapshot): string {
  const { cycles, wrong, unjudged } = counts;
  const more = unjudged === 0 ? "" : `; ${unjudged} more gave no ground to judge`;
  if (cycles === 0) return `no cycle counted${more}`;
  if (wrong > 0) return `${wrong} of ${cyclesText(cycles)} went wrong${more}`;
  return cycles === 1 ? `1 cycle, right${more}` : `${cycles} cycles, every one right${more}`;
}

/** The first wrong cycle with its hour and volts, and when the newest was; null without one. */
export function firstWrongSentence(snapshot: RunSnapshot): string | null {
  const { soak, firstMiss } = snapshot;
  const first = soak?.errors[0];
  if (soak === undefined || first === undefined) return null;
  const newest = soak.errors.at(-1);
  const where = firstMiss?.text.startsWith("cycle ") ? firstMiss.text : wrongText(soak);
  const last =
    newest === undefined || newest === first
      ? ""
      : ` The newest at ${whenText(newest.event.wall, snapshot)}.`;
  return `First wrong at ${whenText(first.event.wall, snapshot)}: ${where}.${last}`;
}

function wrongText({ errors, order }: SoakSnapshot): string {
  const event = errors[0]?.event;
  if (event === undefined) return "";
  return `cycle ${event.cycle}, step "${order.cycle[event.step]?.name ?? ""}"`;
}

/** Who drifts, by how much and how sure; null where nothing was found. */
export function driftSentence(snapshot: RunSnapshot): string | null {
  const report = driftSoFar(snapshot);
  const found = report?.findings[0];
  if (report == null || found === undefined) return null;
  const more = report.findings.length - 1;
  const rest = more === 0 ? "" : ` And ${more} more.`;
  return `Drift: ${driftClaim(found)}, ${driftSure(found)}.${rest}`;
}

/** `V1b conducts less, Q low +310 mV`. */
export function driftClaim(found: DriftFinding): string {
  const who = found.sections.length === 0 ? found.net : found.sections.join(" or ");
  switch (found.kind) {
    case "loses emission":
      return `${who} conducts less, ${found.net} low ${signedMv(found.driftV)}`;
    case "level step":
      return `${found.net} low jumped ${signedMv(found.stepV)}, ${who} or a joint`;
    case "high level falls":
      return `${found.net} high ${signedMv(found.driftV)}, load, leak or ${who}`;
    case "weak when cooler":
      return `${who} weak when cooler, ${found.net} low ${signedMv(found.riseV)}`;
    case "slow to conduct":
      return `${who} slow after rest, ${found.net} low ${signedMv(found.firstV)} at first`;
  }
}

/** `260 to 280 mV`: a unit that both have stands once. */
function fromTo(low: string, high: string): string {
  const unit = high.slice(high.indexOf(" "));
  return `${low.endsWith(unit) ? low.slice(0, -unit.length) : low} to ${high}`;
}

/** How sure, in the words of its kind. */
export function driftSure(found: DriftFinding): string {
  switch (found.kind) {
    case "loses emission":
      return `${fromTo(mvText(found.lowV), mvText(found.highV))} (95 %); by chance once in ${onceIn(found.chance)}`;
    case "weak when cooler":
      return found.limitV === null
        ? `${found.sd.toFixed(1)} standard deviations`
        : `${mvText(found.limitV)} allowed by the sequence`;
    case "slow to conduct":
      return `${found.sd.toFixed(1)} standard deviations`;
    default:
      return `${Math.abs(found.ownSd).toFixed(1)} standard deviations`;
  }
}

/** The least that would have been seen, worst net: `85 mV`; null where nothing could. */
export function seenFrom({ levels }: DriftReport): string | null {
  const lows = levels.filter((one) => one.class === "low" && Number.isFinite(one.smallestV));
  return lows.length === 0 ? null : mvText(Math.max(...lows.map(({ smallestV }) => smallestV)));
}

export function hoursOn({ counts }: SoakSnapshot): string {
  return durationText(counts.boardMs);
}

function signedMv(volts: number): string {
  return `${volts < 0 ? "-" : "+"}${mvText(Math.abs(volts))}`;
}

function mvText(volts: number): string {
  return Math.abs(volts) >= 1
    ? `${volts.toFixed(2)} V`
    : `${Number((1000 * volts).toPrecision(2))} mV`;
}

const RARE_RUNS = 1e6;

function onceIn(chance: number): string {
  const runs = 1 / Math.max(chance, 1 / RARE_RUNS);
  return runs >= RARE_RUNS ? "a million runs" : `${Number(runs.toPrecision(2))} runs`;
}
