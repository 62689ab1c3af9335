/**
 * Orders that move something. Each passes the latch first, so that nothing is switched on or
 * driven once the run has begun to end, and is written down once the controller has confirmed it.
 */
import type { RailName } from "../events/levels.ts";
import type { LineLevels } from "../events/plan.ts";
import { within } from "./deadline.ts";
import type { RunParts } from "./run-parts.ts";
import { benchDeadlineMs } from "./timing.ts";

export async function driveLines(levels: LineLevels, parts: RunParts): Promise<void> {
  const { bench, clock, latch, lines, scribe } = parts;
  if (Object.keys(levels).length === 0) return;
  latch.assertOpen("driving lines");
  const what = `lines ${Object.keys(levels).join(", ")} to be driven`;
  await within({ clock, limitMs: benchDeadlineMs, what }, bench.setLines(levels));
  lines.note(levels, clock.nowMs());
  scribe.write({ kind: "lines", set: levels });
}

/** One pulse on one line, from where it stands and back, on the controller's own clock. */
export async function pulseLine(line: string, ms: number, parts: RunParts): Promise<void> {
  const { bench, clock, latch, lines, scribe } = parts;
  const before = lines.levelOf(line);
  const there = { [line]: before === "high" ? "low" : "high" } as const;
  latch.assertOpen(`a pulse on ${line}`);
  const limitMs = ms + benchDeadlineMs;
  lines.note(there, clock.nowMs());
  scribe.write({ kind: "lines", set: there });
  await within({ clock, limitMs, what: `a pulse on ${line}` }, bench.pulse(there, 1000 * ms));
  lines.note({ [line]: before }, clock.nowMs());
  scribe.write({ kind: "lines", set: { [line]: before } });
}

/**
 * A rail that was taken over is on already and is not ordered again: were it off after all, it would
 * come on cold and unasked. Its gate at the board shows whether it is.
 *
 * @throws whatever keeps the standing block from being written: then nothing is switched
 */
export async function raiseRail(rail: RailName, parts: RunParts): Promise<void> {
  const { bench, block, clock, latch, rails, scribe } = parts;
  latch.assertOpen(`switching ${rail} on`);
  if (rails.takenOverFromMs(rail) !== null) return;
  const hasRaisedNone = rails.on().every((on) => rails.takenOverFromMs(on.rail) !== null);
  if (hasRaisedNone) block?.raise("energised, and not yet proved off");
  rails.orderOn(rail, clock.nowMs());
  const what = `${rail} to be switched on`;
  await within({ clock, limitMs: benchDeadlineMs, what }, bench.switchRail(rail, true));
  scribe.write({ kind: "rail-switched", rail, on: true });
}
