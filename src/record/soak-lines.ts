/** The soak of a record in sentences: what was counted and when, what went wrong, what moved, what may be claimed. */
import { duration } from "../plan/quantity-words.ts";
import type { SoakRecord } from "./soak-record.ts";

interface SoakSection {
  readonly title: string;
  readonly lines: readonly string[];
}

/** None for another kind of run. */
export function soakSectionsOf(soak: SoakRecord | undefined): SoakSection[] {
  if (soak === undefined) return [];
  return [
    { title: "Soak", lines: [...countLines(soak), ...choiceLines(soak)] },
    { title: "Legs and gaps", lines: legLines(soak) },
    { title: "Wrong cycles by class", lines: soak.kinds.map(kindLine) },
    { title: "Drift", lines: driftLines(soak) },
    { title: "What this soak allows to be claimed", lines: soak.claims },
    { title: "What its wrong cycles have in common", lines: soak.clusters },
    { title: "The link to the controller", lines: soak.link ?? [] },
  ];
}

function countLines({ counts, sets }: SoakRecord): string[] {
  const { cycles, wrong, unjudged, notKept, powerCycles, boardMs, heaterMs, closings } = counts;
  const relays = Object.entries(closings).map(([name, count]) => `${name} ${count}`);
  return [
    `${cycles} ${cycles === 1 ? "cycle" : "cycles"} counted, ${wrong === 0 ? "none" : wrong} wrong${notKept === 0 ? "" : ` (${notKept} of them only counted)`}${unjudged === 0 ? "" : `, ${unjudged} more without ground to judge`}; ${sets} full ${sets === 1 ? "set" : "sets"} of readings`,
    `board on for ${duration(boardMs)}, tubes heated for ${duration(heaterMs)}, powered up ${powerCycles === 1 ? "once" : `${powerCycles} times`}`,
    ...(relays.length === 0 ? [] : [`relay closings: ${relays.join(", ")}`]),
  ];
}

function choiceLines({ order }: SoakRecord): string[] {
  const { forMs, cycles, attendance, goOn, errorsMax, power, dwell, heaterLow } = order;
  const until = forMs === null ? `${cycles ?? 0} cycles` : duration(forMs);
  return [
    `ordered: ${until}${errorsMax === null ? "" : `, until ${errorsMax} errors`}; ${attendance}`,
    goOn.length === 0
      ? "chosen beforehand: to stay off after whatever breaks it off"
      : `chosen beforehand: to go on after ${goOn.join(", ")}`,
    ...(power === null
      ? []
      : [`power cycles: ${duration(power.onMs)} on, ${duration(power.offMs)} off`]),
    ...(dwell === null
      ? []
      : [`standing still every ${duration(dwell.everyMs)} for ${duration(dwell.forMs)}`]),
    ...(heaterLow === undefined
      ? []
      : [`readings with the heaters ${heaterLow.percent} % low, at the beginning and the end`]),
  ];
}

function legLines({ legs, legsLeftOut }: SoakRecord): string[] {
  const rest = legsLeftOut === 0 ? [] : [`and ${legsLeftOut} more, of plain power cycles`];
  return [...legs.map(legLine), ...rest];
}

function legLine({
  leg,
  why,
  wall,
  gapMs,
  tornBytes,
  cause,
  provedOff,
}: SoakRecord["legs"][number]) {
  const gap =
    why === "first" || why === "power cycle"
      ? ""
      : `, after ${why}; nothing was counted for ${gapMs === null ? "a time that no clock tells" : duration(gapMs)}`;
  const torn = tornBytes === 0 ? "" : `; ${tornBytes} bytes that were never sealed were dropped`;
  const end =
    cause === null
      ? "never ended"
      : `ended: ${cause}, ${provedOff ? "every rail proved off" : "NOT every rail proved off"}`;
  return `leg ${leg} from ${clock(wall)}${gap}${torn}; ${end}`;
}

function kindLine(kind: SoakRecord["kinds"][number]): string {
  const { class: how, net, name, cycles, times, longest, first, last } = kind;
  const often =
    cycles === 1
      ? "once"
      : `${cycles} cycles in ${times === 1 ? "one go" : `${times} times`}, ${longest} on end at most`;
  return `${how}: ${net} in "${name}", ${often}; first ${momentText(first)}${cycles === 1 ? "" : `, newest ${momentText(last)}`}`;
}

function momentText({ cycle, wall, volts }: SoakRecord["kinds"][number]["first"]): string {
  return `${clock(wall)} (cycle ${cycle}, ${volts === null ? "no volts" : `${volts.toFixed(2)} V`})`;
}

/** What moved, what was seen and is no finding, and what would have been seen. */
export function driftLines({ drift }: SoakRecord): string[] {
  const none =
    drift.judged && drift.findings.length === 0 ? ["nothing moved that is a finding"] : [];
  return [...drift.findings, ...none, ...drift.remarks, ...drift.couldSee];
}

/** `2026-11-28 03:12:07`. */
function clock(wall: string): string {
  return wall.slice(0, 19).replace("T", " ");
}

/** The same where one asks others: no more than helps to judge it. */
export function soakPasteLines(soak: SoakRecord): string[] {
  return [
    ...countLines(soak),
    ...soak.kinds.slice(0, PASTED_KINDS).map(kindLine),
    ...driftLines(soak).slice(0, PASTED_DRIFT),
    ...soak.claims.slice(0, PASTED_CLAIMS),
  ];
}

const PASTED_KINDS = 5;
const PASTED_DRIFT = 4;
const PASTED_CLAIMS = 3;
