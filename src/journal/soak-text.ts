/** A soak in words, for the log and for plain lines. */
import type { SoakEvent } from "../events/soak.ts";
import { windowText } from "../measure/volts-text.ts";
import type { LogLine, RunSnapshot } from "./snapshot.ts";

type Said = Omit<LogLine, "ms">;

/** What such an event says in the log; a night of tallies and quiet readings would bury the rest. */
export function soakLogLines(event: SoakEvent, run: RunSnapshot): Said[] {
  switch (event.kind) {
    case "leg-begun":
      return [{ text: legBegunText(event), weight: event.why === "first" ? "info" : "warning" }];
    case "leg-ended":
      return [
        {
          text: legEndedText(event),
          weight: event.provedOff && event.cause !== "link lost" ? "info" : "bad",
        },
      ];
    case "soak-tally":
    case "cycle-error-after":
      return [];
    case "window-moved":
      return [{ text: windowMovedText(event), weight: "info" }];
    case "soak-readings": {
      if (event.moment === "heater low") return [{ text: heaterLowText(event), weight: "info" }];
      const off = event.steps.flatMap(({ readings }) =>
        readings.filter(({ result }) => result !== "pass"),
      );
      return off.length === 0
        ? []
        : [{ text: `set ${event.set}: ${off.map(offText).join("; ")}`, weight: "warning" }];
    }
    case "cycle-error":
      return [{ text: cycleErrorText(event, run), weight: "bad" }];
    case "clock-step":
      return [
        {
          text: `the wall clock stepped by ${(event.stepMs / 1000).toFixed(1)} s, now ${event.wall}; durations are not touched by it`,
          weight: "warning",
        },
      ];
  }
}

function windowMovedText({ rail, share, window }: Extract<SoakEvent, { kind: "window-moved" }>) {
  const held = `held to ${windowText(window)}`;
  return share === 1
    ? `${rail} back to its own volts, ${held}`
    : `${rail} at ${Math.round(100 * share)} % of its volts, ${held}`;
}

/** Volts alone: what they are held against is the set at nominal volts, and no limit. */
function heaterLowText({ set, steps }: Extract<SoakEvent, { kind: "soak-readings" }>): string {
  const highest = new Map<string, number>();
  for (const { channel, expected, volts } of steps.flatMap(({ readings }) => readings)) {
    if (expected !== "low" || volts === null) continue;
    highest.set(channel, Math.max(volts, highest.get(channel) ?? volts));
  }
  const lows = [...highest].map(([net, volts]) => `${net} low at ${volts.toFixed(2)} V`);
  return `set ${set}, heaters low: ${lows.length === 0 ? "no low level was read" : lows.join(", ")}`;
}

/** A tally is sealed every quarter of a minute; a sign of life every five minutes is enough. */
const TALLIES_A_LINE = 20;

/** The same for plain lines, where a tally is a sign of life. */
export function soakPlainText(event: SoakEvent, run: RunSnapshot): string | null {
  if (event.kind === "soak-tally") {
    if (((run.soak?.tallies ?? 1) - 1) % TALLIES_A_LINE !== 0) return null;
    const { cycles, wrong, unjudged } = event.counts;
    return `${cycles} ${cycles === 1 ? "cycle" : "cycles"}, ${wrong} wrong${unjudged === 0 ? "" : `, ${unjudged} not judged`}`;
  }
  const text = soakLogLines(event, run)[0]?.text ?? null;
  return event.kind === "cycle-error" ? `at ${event.wall.slice(11, 19)} ${text}` : text;
}

function legBegunText({ leg, why, gapMs, tornBytes }: Extract<SoakEvent, { kind: "leg-begun" }>) {
  if (why === "first") return "leg 1 begins";
  const gap = gapMs === null ? "a time that no clock tells" : `${Math.round(gapMs / 1000)} s`;
  const torn =
    tornBytes === 0 ? "" : `; ${tornBytes} bytes that were never sealed have been dropped`;
  return why === "power cycle"
    ? `leg ${leg} begins after ${gap} off`
    : `leg ${leg} begins after: ${why}; nothing was counted for ${gap}${torn}`;
}

function legEndedText({
  leg,
  cause,
  detail,
  provedOff,
}: Extract<SoakEvent, { kind: "leg-ended" }>): string {
  const why = detail === "" ? cause : `${cause}, ${detail}`;
  return `leg ${leg} ended (${why}); ${provedOff ? "every rail proved off" : "NOT every rail proved off"}`;
}

function cycleErrorText(
  { cycle, step, readings }: Extract<SoakEvent, { kind: "cycle-error" }>,
  { soak }: RunSnapshot,
): string {
  const name = soak?.order.cycle[step]?.name ?? `step ${step + 1}`;
  const off = readings.filter(({ result }) => result === "fail" || result === "void");
  return `cycle ${cycle} went wrong in "${name}": ${off.map(offText).join("; ")}`;
}

function offText(one: {
  readonly channel: string;
  readonly volts: number | null;
  readonly expected: string;
  readonly reason: string;
  readonly noReading: string | null;
}): string {
  const read = one.volts === null ? `no reading (${one.noReading})` : `${one.volts.toFixed(2)} V`;
  return `${one.channel} ${read}, expected ${one.expected} (${one.reason})`;
}
