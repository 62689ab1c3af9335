/** What initialises a board, and what races in it, in words. */
import { stopFindings } from "../../logic/expect/stop-findings.ts";
import type { Walked } from "../../logic/expect/walk.ts";
import type { Circuit } from "../../logic/netlist/circuit.ts";
import type { SettlingFinding } from "../../logic/ternary/findings.ts";
import { type Initialising, initialisingSteps } from "../../logic/ternary/initialise.ts";
import type { ModelledProof } from "../../plan/fill-expected.ts";

/** Settlings that a person waits for without noticing. */
const SETTLINGS_MAX = 5000;
/** Ends of a race that are told one by one. */
const ENDS_TOLD = 4;

export interface StopSettling {
  readonly stop: string;
  readonly mayPulse: readonly string[];
  readonly loops: readonly SettlingFinding[];
}

/**
 * What brings every net to a known level from power-up; null where the level of a net is nobody's to drive and
 * unknown to the model.
 */
export function initialisingOf({ logic, walk }: ModelledProof): Initialising | null {
  if (logic.unknownNets.length > 0) return null;
  return initialisingSteps(walk.circuit, { settlingsMax: SETTLINGS_MAX });
}

/** Stops at which something may pulse, race or never rest; a stop that comes again is told once. */
export function settlingOf({ walk }: ModelledProof): StopSettling[] {
  const told = new Map<string, StopSettling>();
  for (const walked of [...walk.exercise, ...walk.pass, ...walk.cycle]) {
    const { mayPulse, loops } = stopFindings(walk.circuit, walked);
    if (mayPulse.length === 0 && loops.length === 0) continue;
    const key = placeOf(walked);
    if (!told.has(key)) told.set(key, { stop: walked.stop.label, mayPulse, loops });
  }
  return [...told.values()];
}

function placeOf({ stop, before }: Walked): string {
  return [...stop.path, stop.part, stop.flip, JSON.stringify(stop.set), before.join("")].join();
}

/** @param pulses tell nets that may pulse as well, though they end where they were */
export function settlingLines(
  initialising: Initialising | null,
  stops: readonly StopSettling[],
  { circuit, pulses }: { readonly circuit: Circuit; readonly pulses: boolean },
): string[] {
  const lines = [
    initialising === null
      ? "What initialises the board is not told: some of it is not modelled."
      : initialisingLine(initialising, circuit),
  ];
  for (const { stop, mayPulse, loops } of stops) {
    for (const loop of loops) lines.push(`${stop}: ${loopText(loop)}.`);
    if (pulses && mayPulse.length > 0) {
      lines.push(`${stop}: ${mayPulse.join(", ")} may pulse on the way.`);
    }
  }
  const hidden = stops.filter(({ mayPulse }) => mayPulse.length > 0).length;
  if (!pulses && hidden > 0) {
    lines.push(
      `At ${hidden === 1 ? "1 stop" : `${hidden} stops`} nets may pulse and end where they were; --pulses names them.`,
    );
  }
  return lines;
}

function initialisingLine(
  { shortest, neverKnown, limits }: Initialising,
  { netlist }: Circuit,
): string {
  if (shortest !== null) {
    const steps = shortest.map((letters) =>
      netlist.inputs
        .flatMap((line, at) => {
          const letter = letters[at];
          return letter === "X" ? [] : [`${line} ${letter === "1" ? "high" : "low"}`];
        })
        .join(", "),
    );
    return steps.length === 0
      ? "Every net is known from power-up on."
      : `From power-up every net is known after: ${steps.join("; then ")}.`;
  }
  const nets = neverKnown.length === 0 ? "not all nets at once" : neverKnown.join(", ");
  const how =
    limits === null ? "No steps make known" : `Not found (${limits}): steps that make known`;
  return `${how}: ${nets}.`;
}

function loopText({ reason, pairs, ends, limits }: SettlingFinding): string {
  const racing = pairs.map(({ lines }) => `${lines[0]} against ${lines[1]}`);
  const told = (ends ?? []).slice(0, ENDS_TOLD).map(endText);
  const more = (ends?.length ?? 0) > ENDS_TOLD ? [`${(ends?.length ?? 0) - ENDS_TOLD} more`] : [];
  return [
    reason,
    ...(racing.length === 0 ? [] : [`racing: ${racing.join(", ")}`]),
    ...(told.length < 2 ? [] : [`it may end in ${[...told, ...more].join(" or ")}`]),
    ...(limits === null ? [] : [limits]),
  ].join("; ");
}

function endText(end: Readonly<Record<string, "0" | "1" | "X">>): string {
  return Object.entries(end)
    .map(([net, letter]) => `${net} ${letter === "0" ? "low" : letter === "1" ? "high" : "X"}`)
    .join(", ");
}
