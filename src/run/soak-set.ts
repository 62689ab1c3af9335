/** A full set of readings: one cycle taken slowly, each step averaged and judged as in a proof. */
import type { ChannelReading, JudgedReading } from "../events/events.ts";
import type { SetMoment } from "../events/soak.ts";
import { driveLines } from "./hands.ts";
import { readAndJudge } from "./judge-set.ts";
import { readChannels } from "./look.ts";
import type { RunParts } from "./run-parts.ts";
import type { CycleResult, SoakBook } from "./soak-book.ts";

/**
 * Take a set and write it down. It is a cycle too: right when every net was of its class.
 *
 * @throws RunFault "energising-closed" when the run began to end meanwhile; BenchError
 */
export async function takeSet(
  moment: SetMoment,
  { parts, book, signal }: { parts: RunParts; book: SoakBook; signal: AbortSignal },
): Promise<CycleResult> {
  const { clock, lines, plan, rails, rig, scribe } = parts;
  const { cycle } = book;
  const steps: { step: number; readings: readonly JudgedReading[] }[] = [];
  for (const step of book.order.cycle) {
    await driveLines(step.set, parts);
    await clock.delay(step.settleMs, signal);
    const where = `step "${step.name}" of a full set`;
    const wanted = { expect: step.expect, lines: lines.readBack(), where };
    const { readings } = await readAndJudge(wanted, parts);
    steps.push({ step: step.index, readings });
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
      step,
      readings: readings.filter(({ channel }) => isNet(channel, plan)),
    })),
    rails: onRails,
    ...rig.measured,
  });
  return resultOf(steps.flatMap(({ readings }) => readings));
}

function isNet(name: string, { channels }: RunParts["plan"]): boolean {
  return channels.find((one) => one.name === name)?.reads.kind === "net";
}

function railChannels({ plan }: RunParts): string[] {
  return plan.rails.flatMap(({ boardChannel, current }) =>
    current === undefined ? [boardChannel] : [boardChannel, current.channel],
  );
}

function resultOf(readings: readonly (JudgedReading | ChannelReading)[]): CycleResult {
  const judged = readings.filter((one): one is JudgedReading => "expected" in one);
  if (judged.some(({ volts }) => volts === null)) return "not judged";
  return judged.every((one) => one.class === one.expected) ? "right" : "wrong";
}
