/**
 * A proof on a real pseudo-terminal that is resized while it runs. What stands on the terminal is
 * compared, row for row, with what the renderer makes of one of the newest states of the journal.
 */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import type { FoldedRun } from "../../../src/journal/account.ts";
import { foldEvent, initialSnapshot } from "../../../src/journal/fold.ts";
import { JournalTail } from "../../../src/journal/journal-tail.ts";
import type { ScreenSize } from "../../../src/screen/panel.ts";
import { expectedGrid } from "../../screen/expected-grid.tsx";
import { OnTerminal } from "../../screen/on-terminal.ts";

const SIZES: readonly ScreenSize[] = [
  { columns: 80, rows: 24 },
  { columns: 132, rows: 43 },
  { columns: 100, rows: 30 },
  { columns: 60, rows: 20 },
  { columns: 20, rows: 8 },
  { columns: 110, rows: 24 },
];
/** A frame shows a state of the journal at most about two frames old. */
const STATES_KEPT = 600;
/** Frames that may pass until the new size stands: the one under way, and one that was late. */
const FRAMES_TO_SETTLE = 8;

export interface ResizedRun {
  readonly resizes: number;
  readonly leftovers: number;
  readonly framesInASecond: number;
  readonly exitStatus: number | null;
  readonly journal: string;
}

export async function resizedRun(given: {
  readonly runs: string;
  readonly pace: number;
  readonly say: (text: string) => void;
}): Promise<ResizedRun> {
  const { runs, pace, say } = given;
  const first = SIZES.at(-1) ?? { columns: 80, rows: 24 };
  const args = ["prove", "--pace", String(pace), "--runs", runs, "--mute"];
  const terminal = new OnTerminal(args, first);
  let states: Journalled | null = null;
  let resizes = 0;
  let leftovers = 0;
  try {
    await terminal.until(() => terminal.isAlternate && readdirSync(runs).length === 1);
    states = new Journalled(join(runs, readdirSync(runs)[0] ?? "", "journal.ndjson"));
    while (!states.isClosed()) {
      const size = SIZES[resizes % SIZES.length] ?? first;
      terminal.resize(size);
      const settled = await settles(terminal, states);
      if (settled === "ended") break;
      resizes += 1;
      if (settled === "left over") {
        leftovers += 1;
        say(`${size.columns} x ${size.rows} did not settle:\n${terminal.grid().join("\n")}`);
      }
    }
    const exitStatus = await terminal.exited;
    const framesInASecond = mostInASecond(terminal.frameMs);
    return { resizes, leftovers, framesInASecond, exitStatus, journal: states.path };
  } finally {
    states?.close();
    await terminal.dispose();
  }
}

/** Wait until the terminal shows what it should, over a bounded number of frames. */
async function settles(
  terminal: OnTerminal,
  states: Journalled,
): Promise<"as drawn" | "left over" | "ended"> {
  const { size } = terminal;
  for (let frame = 0; frame < FRAMES_TO_SETTLE; frame += 1) {
    const seen = terminal.frameMs.length;
    const next = terminal.until(() => terminal.frameMs.length > seen).then(() => true);
    const isThere = await Promise.race([next, terminal.exited.then(() => false)]).catch(
      () => false,
    );
    if (!isThere || !terminal.isAlternate) return "ended";
    const shown = terminal.grid().join("\n");
    if (states.newest().some((run) => expectedGrid(run, size).join("\n") === shown)) {
      return "as drawn";
    }
  }
  return "left over";
}

function mostInASecond(frameMs: readonly number[]): number {
  return Math.max(
    0,
    ...frameMs.map((begin, index) => {
      const after = frameMs.findIndex((ms, later) => later >= index && ms - begin >= 1000);
      return (after === -1 ? frameMs.length : after) - index;
    }),
  );
}

/** The newest states of a journal that is being written. */
class Journalled {
  readonly path: string;
  readonly #tail: JournalTail;
  #run: FoldedRun = initialSnapshot();
  #states: FoldedRun[] = [];

  constructor(path: string) {
    this.path = path;
    this.#tail = new JournalTail(path, {
      onEntry: (entry) => {
        this.#run = foldEvent(this.#run, entry);
        this.#states.push(this.#run);
      },
      onRetold: () => {
        this.#run = initialSnapshot();
        this.#states = [];
      },
    });
  }

  /** Newest first. */
  newest(): FoldedRun[] {
    while (this.#tail.read());
    this.#states = this.#states.slice(-STATES_KEPT);
    return [...this.#states].reverse();
  }

  isClosed(): boolean {
    return this.#run.verdict !== null;
  }

  close(): void {
    this.#tail.close();
  }
}
