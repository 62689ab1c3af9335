/** What the run is doing now, in one plain sentence. */
import type { Phase } from "../events/events.ts";
import type { HoldStep, Plan } from "../events/plan.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import { clockText, durationText } from "./duration-text.ts";
import { countedText } from "./soak-words.ts";

/** Phases whose sentence says more than that they are on. */
type PhaseWithMore =
  | "soaking"
  | "stepping"
  | "holding"
  | "by hand"
  | "frozen"
  | "standby"
  | "ended";

const PHASE_SENTENCES: Readonly<Record<Exclude<Phase, PhaseWithMore>, string>> = {
  connecting: "Connecting to the controller.",
  "checking supplies": "Measuring each supply at its source; nothing reaches the board yet.",
  heating: "Heaters are on; waiting before bias and plate.",
  "raising bias": "Raising bias and measuring it on the board.",
  "raising plate": "Raising plate; bias is in its window.",
  "warming up": "Warming up.",
  "walking the relays":
    "Operating each relay and reading every channel; nothing else may be on the connector.",
  "testing the dead-man": "Feeding nothing: the controller has to switch off by itself.",
  "heaters low":
    "The heaters stand below their volts: a full set is read once the cathodes have followed.",
  dwelling: "Standing still with power ON, before the next cycle.",
  "power off": "Proved off for now. Power comes ON AGAIN BY ITSELF: stop before you touch.",
  "powering down": "Powering down in order and proving each rail off.",
};

/** What a person wants to know from the door: whether anything went wrong. */
function soakingSentence({ soak }: RunSnapshot): string {
  return soak === undefined ? "Cycling." : `Cycling; ${countedText(soak)}.`;
}

const NAMES_SHOWN_MAX = 3;

export function doingSentence(snapshot: RunSnapshot): string {
  const { phase } = snapshot;
  if (phase === "ended") return "The run has ended.";
  if (phase === "powering down") {
    return snapshot.stopRequested
      ? "Stopping: powering down in order and proving each rail off."
      : PHASE_SENTENCES[phase];
  }
  if (snapshot.stopRequested) return "Stopping: the rails come down next.";
  if (phase === "warming up") return warmUpSentence(snapshot);
  if (phase === "stepping") return steppingSentence(snapshot);
  if (phase === "soaking") return soakingSentence(snapshot);
  if (phase === "holding") return holdingSentence(snapshot);
  if (phase === "by hand") return handSentence(snapshot);
  if (phase === "frozen") return frozenSentence(snapshot);
  if (phase === "standby") return standbySentence(snapshot);
  if (phase === "power off") return betweenLegsSentence(snapshot);
  return PHASE_SENTENCES[phase];
}

/** Off is said only of what was proved off. */
function betweenLegsSentence({ rails, soak }: RunSnapshot): string {
  const isProved = rails.every(({ fall }) => fall !== "unproved" && fall !== "lead lost");
  if (isProved) return PHASE_SENTENCES["power off"];
  const cause = soak?.legs.at(-1)?.end?.cause ?? "an end nobody saw";
  return `Between two legs after ${cause}; waiting for the bench to answer.`;
}

/** `4:20 left`, of a time that a person has; nothing before it began. */
function heldText(
  held: { readonly sinceMs: number; readonly limitMs: number } | null,
  nowMs: number,
): string {
  return held === null ? "" : ` ${clockText(held.sinceMs + held.limitMs - nowMs)} left.`;
}

function handSentence({ hand, ms }: RunSnapshot): string {
  return `POWER ON. The lines are yours; nothing is judged.${heldText(hand, ms)}`;
}

function frozenSentence({ freeze, ms, steps }: RunSnapshot): string {
  if (freeze === null) return "POWER ON. Frozen.";
  const { step, turns, newest, loopTo } = freeze;
  const name = steps[step]?.name ?? "";
  const loop = loopTo === null ? "" : ` Looping with step ${loopTo + 1}.`;
  const turn = newest === null ? "" : ` Turn ${turns}: ${newest}.`;
  return `POWER ON. Frozen at step ${step + 1}, "${name}".${heldText(freeze, ms)}${loop}${turn}`;
}

function standbySentence({ standby, ms }: RunSnapshot): string {
  const verdict = standby === null ? "" : ` The run was: ${standby.verdict.toUpperCase()}.`;
  return `HEATERS ON; plate and bias are proved off.${heldText(standby, ms)}${verdict}`;
}

function warmUpSentence(snapshot: RunSnapshot): string {
  const nets = warmUpNets(snapshot.plan);
  if (nets.length === 0) return "Warming up until every level is steady.";
  const pulled = nets.filter((net) =>
    snapshot.warm.some((one) => one.net === net && one.validMs !== null),
  );
  const steady = snapshot.warm.filter((one) => one.steadyMs !== null).length;
  if (pulled.length < nets.length) {
    const cold = nets.filter((net) => !pulled.includes(net));
    return `Warming up: waiting for ${fewText(cold)} to be pulled low.`;
  }
  return steady < nets.length
    ? `Warming up: every section pulls low; waiting for the lows to be steady.`
    : "Warm: every section pulls low and is steady.";
}

function warmUpNets(plan: Plan | null): string[] {
  return [...new Set(plan?.warmUp.exercise.flatMap((one) => one.pullsLow) ?? [])];
}

function steppingSentence(snapshot: RunSnapshot): string {
  const running = snapshot.steps.find((one) => one.state === "running");
  if (running === undefined) return "Stepping the sequence.";
  return `Step ${running.index + 1} of ${snapshot.steps.length}, "${running.name}": set lines, settle, read.`;
}

function holdingSentence(snapshot: RunSnapshot): string {
  const step = holdStepOf(snapshot);
  if (step === null) return "Hold proof.";
  const place = `Step ${step.index + 1} of ${snapshot.steps.length}`;
  const part = snapshot.hold?.part ?? "hold";
  if (part === "flip") {
    return `${place}: flipped by the opposite input; ${levelsText(step.flip.expect)} must hold for ${durationText(step.flip.forMs)}.`;
  }
  const disturbed = step.move.length > 0 ? ` while ${listText(step.move)} moves` : "";
  return `${place}, hold proof: ${levelsText(step.expect)} must hold${disturbed}.`;
}

function holdStepOf(snapshot: RunSnapshot): HoldStep | null {
  const index =
    snapshot.hold?.step ?? snapshot.steps.find((one) => one.state === "running")?.index ?? null;
  const step = index === null ? undefined : snapshot.plan?.steps[index];
  return step?.kind === "hold" ? step : null;
}

function levelsText(levels: Readonly<Record<string, string>>): string {
  return listText(Object.entries(levels).map(([name, level]) => `${name} ${level}`));
}

/** The first few names and the count of the rest: a sentence must fit a row. */
function fewText(names: readonly string[]): string {
  if (names.length <= NAMES_SHOWN_MAX + 1) return listText(names);
  return `${names.slice(0, NAMES_SHOWN_MAX).join(", ")} and ${names.length - NAMES_SHOWN_MAX} more`;
}

export function listText(names: readonly string[]): string {
  if (names.length <= 1) return names[0] ?? "";
  return `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`;
}
