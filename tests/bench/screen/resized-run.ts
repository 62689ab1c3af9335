/**
 * A proof on a real pseudo-terminal that is resized while it runs. What stood on the terminal is
 * compared afterwards, row for row, with what the renderer makes of the states of the journal.
 */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import type { FoldedRun } from "../../../src/journal/account.ts";
import { foldEvent, initialSnapshot } from "../../../src/journal/fold.ts";
import { readJournal } from "../../../src/journal/read-journal.ts";
import { clockText } from "../../../src/screen/duration-text.ts";
import type { ScreenSize } from "../../../src/screen/panel.ts";
import { INITIAL_VIEW } from "../../../src/screen/view-state.ts";
import { expectedGrid } from "../../screen/expected-grid.tsx";
import { OnTerminal } from "../../screen/on-terminal.ts";

const SIZES: readonly ScreenSize[] = [
  { columns: 80, rows: 24 },
  { columns: 132, rows: 43 },
  { columns: 100, rows: 30 },
  { columns: 60, rows: 20 },
  { columns: 120, rows: 24 },
  { columns: 40, rows: 14 },
  { columns: 110, rows: 36 },
];
/** Frames after a resize that may still be of the old size: those under way and the first new one. */
const FRAMES_TO_SETTLE = 2;
const FRAMES_A_SIZE = 5;

interface SeenScreen {
  readonly size: ScreenSize;
  readonly text: string;
}

export interface ResizedRun {
  readonly resizes: number;
  /** Screens that were compared, and those that were none of the run's. */
  readonly compared: number;
  readonly leftovers: readonly SeenScreen[];
  readonly framesInASecond: number;
  readonly exitStatus: number | null;
  readonly journal: string;
}

export async function resizedRun(given: {
  readonly runs: string;
  readonly pace: number;
}): Promise<ResizedRun> {
  const { runs, pace } = given;
  const args = ["prove", "--pace", String(pace), "--runs", runs, "--mute"];
  const terminal = new OnTerminal(args, { columns: 100, rows: 30 });
  try {
    const { seen, resizes } = await resizeToTheEnd(terminal);
    const exitStatus = await terminal.exited;
    const journal = join(runs, readdirSync(runs)[0] ?? "", "journal.ndjson");
    const states = statesOf(journal);
    const leftovers = seen.filter((one) => !isOneOf(states, one));
    const framesInASecond = mostInASecond(terminal.frameMs);
    return { resizes, compared: seen.length, leftovers, framesInASecond, exitStatus, journal };
  } finally {
    await terminal.dispose();
  }
}

async function resizeToTheEnd(
  terminal: OnTerminal,
): Promise<{ readonly seen: SeenScreen[]; readonly resizes: number }> {
  const seen: SeenScreen[] = [];
  let resizes = 0;
  for (;;) {
    const size = SIZES[resizes % SIZES.length];
    if (size === undefined || !(await hasNextFrame(terminal))) return { seen, resizes };
    terminal.resizeUnheard(size);
    // As over a slow line: a frame of the old size still comes into a terminal of the new one.
    if (resizes % 2 === 1 && !(await hasNextFrame(terminal))) return { seen, resizes };
    terminal.tellSize();
    for (let frame = 1; frame <= FRAMES_A_SIZE; frame += 1) {
      if (!(await hasNextFrame(terminal))) return { seen, resizes };
      if (frame > FRAMES_TO_SETTLE) seen.push({ size, text: terminal.grid().join("\n") });
    }
    resizes += 1;
  }
}

/** Whether the program draws on; it leaves the second screen before it ends. */
async function hasNextFrame(terminal: OnTerminal): Promise<boolean> {
  const drawn = terminal.frameMs.length;
  try {
    await terminal.until(() => terminal.frameMs.length > drawn && terminal.isAlternate);
    return true;
  } catch {
    // It ended instead; how, its exit status tells.
    return false;
  }
}

function statesOf(journal: string): FoldedRun[] {
  const states: FoldedRun[] = [initialSnapshot()];
  for (const entry of readJournal(journal).entries) {
    states.push(foldEvent(states.at(-1) ?? initialSnapshot(), entry));
  }
  return states;
}

function isOneOf(states: readonly FoldedRun[], { size, text }: SeenScreen): boolean {
  const options = { view: { ...INITIAL_VIEW, muted: true } };
  // The time in the row of progress names the few states it can be; on a small screen it is cut.
  const near = states.filter(({ ms }) => size.columns < 80 || text.includes(clockText(ms)));
  return near.some((run) => expectedGrid(run, size, options).join("\n") === text);
}

function mostInASecond(frameMs: readonly number[]): number {
  let most = 0;
  let first = 0;
  for (const [index, ms] of frameMs.entries()) {
    while (ms - (frameMs[first] ?? ms) >= 1000) first += 1;
    most = Math.max(most, index - first + 1);
  }
  return most;
}
