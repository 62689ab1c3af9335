/** A full set of readings: one cycle taken slowly, each step averaged and judged as in a proof. */
import type { JudgedReading } from "../events/events.ts";
import type { PatternStep } from "../events/plan.ts";
import type { SetMoment } from "../events/soak.ts";
import { driveLines } from "./hands.ts";
import { readAndJudge } from "./judge-set.ts";
import { readChannels } from "./look.ts";
import type { RunParts } from "./run-parts.ts";
import type { CycleResult, SoakBook } from "./soak-book.ts";

export interface SetTaken {
  /** As a cycle: right when every net was of its class. */
  readonly result: CycleResult;
  /** The step that showed it, and its readings with what is off first; null when it was right. */
  readonly off: { readonly step: PatternStep; readonly readings: readonly JudgedReading[] } | null;
  /** Volts by step and net, as far as they were read. */
  readonly volts: readonly (readonly (number | null)[])[];
}

/**
 * Take a set and write it down. What comes after a step that is off rests on it and is not judged any more.
 *
 * @throws RunFault "energising-closed" when the run began to end meanwhile; BenchError
 */
export async function takeSet(
  moment: SetMoment,
  { parts, book, signal }: { parts: RunParts; book: SoakBook; signal: AbortSignal },
): Promise<SetTaken> {
  const { clock, lines, plan, rails, rig, scribe } = parts;
  const { cycle } = book;
  const steps: { step: PatternStep; readings: readonly JudgedReading[] }[] = [];
  let off: SetTaken["off"] = null;
  for (const step of book.order.cycle) {
    await driveLines(step.set, parts);
    await clock.delay(step.settleMs, signal);
    if (off !== null) continue;
    const where = `step "${step.name}" of a full set`;
    const wanted = { expect: step.expect, lines: lines.readBack(), where };
    const { readings } = await readAndJudge(wanted, parts);
    steps.push({ step, readings });
    if (readings.some(isOff)) off = { step, readings: [...readings].sort(offFirst) };
  }
  const onRails = await readChannels(railChannels(parts), parts);
  signal.throwIfAborted();
  const plateOnMs = rails.onSinceMs("plate") ?? clock.nowMs();
  scribe.write({
    kind: "soak-readings",
    set: book.nextSet(),
    cycle,
    moment,
    onMs: Math.round(clock.nowMs() - plateOnMs),
    steps: steps.map(({ step, readings }) => ({
      step: step.index,
      readings: readings.filter(({ channel }) => isNet(channel, plan)),
    })),
    rails: onRails,
    ...rig.measured,
  });
  const volts = steps.map(({ step, readings }) =>
    Object.keys(step.expect).map(
      (net) => readings.find(({ channel }) => channel === net)?.volts ?? null,
    ),
  );
  return { result: resultOf(off), off, volts };
}

/** Not of its class, or not read at all. A level of its class beyond its limit is short of margin, not off. */
function isOff({ class: found, expected }: JudgedReading): boolean {
  return found !== expected;
}

function offFirst(one: JudgedReading, other: JudgedReading): number {
  return Number(isOff(other)) - Number(isOff(one));
}

/** A line off its level voids all that was read with it. */
function resultOf(off: SetTaken["off"]): CycleResult {
  if (off === null) return "right";
  return off.readings.some(({ result }) => result === "void") ? "not judged" : "wrong";
}

function isNet(name: string, { channels }: RunParts["plan"]): boolean {
  return channels.find((one) => one.name === name)?.reads.kind === "net";
}

function railChannels({ plan }: RunParts): string[] {
  return plan.rails.flatMap(({ boardChannel, current }) =>
    current === undefined ? [boardChannel] : [boardChannel, current.channel],
  );
}
