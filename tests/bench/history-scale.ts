/**
 * Answers from an index of 500 units and 10 000 runs: the command's own work, from opening the file and
 * looking through the folder of runs to the last line, without starting a process; that is told beside it.
 * Most runs are rows made up from a seed, with a folder and a journal of the right size each, so that
 * looking through them costs what it costs; a sample is real journals, which --full makes of all.
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { compareCommand } from "../../src/commands/compare.ts";
import { catchUp } from "../../src/commands/history/catch-up.ts";
import { historyCommand } from "../../src/commands/history.ts";
import { tubesCommand } from "../../src/commands/tubes.ts";
import { indexPath, openIndex } from "../../src/store/run-index/open-index.ts";
import { changeIndex } from "../../src/store/run-index/put-run.ts";
import type { FigureContext } from "./figure.ts";
import {
  factsOfRackRun,
  putEmptyFolder,
  putJournal,
  type RackRun,
  rackRuns,
} from "./history/made-up-rack.ts";
import { seededChance } from "./seeded-chance.ts";

const root = resolve(import.meta.dirname, "../..");
const UNITS = 500;
const ROUNDS = 20;
const SAMPLE = 200;
const SEED = 20_261;
const ROWS_AT_ONCE = 500;
const TURNS = 15;
const LIMIT_MS = 200;
const STARTS = 5;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-history-scale-"));
  try {
    const runs = rackRuns({ units: UNITS, rounds: ROUNDS }, seededChance(SEED));
    await fill(folder, runs, { sample: full ? runs.length : SAMPLE, say });
    const subject = runs.at(-1);
    if (subject === undefined) throw new Error("the rack has runs");
    const quiet = { out: () => undefined, error: (line: string) => say(line) };
    const given = { runs: folder, json: false, ascii: false };
    const listing = { ...given, last: 20, net: null };
    const answers: readonly [string, () => Promise<number>][] = [
      ["list of all units", () => historyCommand(null, { ...listing, svg: null }, quiet)],
      [
        "runs and trends of a unit",
        () => historyCommand(subject.unit, { ...listing, svg: null }, quiet),
      ],
      [
        "trends drawn into a file",
        () => historyCommand(subject.unit, { ...listing, svg: join(folder, "levels.svg") }, quiet),
      ],
      [
        "comparison with sisters",
        () => compareCommand(subject.unit, { ...given, with: null }, quiet),
      ],
    ];
    for (const [name, ask] of answers) {
      const took = await timed(ask);
      say(`${name}: first ${took.first.toFixed(0)} ms, slowest ${took.slowest.toFixed(0)} ms`);
      report({
        name: `history-scale ${name}`,
        value: Math.round(took.median * 10) / 10,
        unit: `ms, median of ${TURNS}, ${UNITS} units, ${runs.length} runs`,
        limit: `<= ${LIMIT_MS}`,
        holds: took.median <= LIMIT_MS,
      });
      stated(report, `${name}, processor time`, took.work, "ms, median");
    }
    const book = await timed(() => tubesCommand(null, given, quiet));
    stated(report, "tube book of the whole rack", book.median, "ms, median, beside the limit");
    stated(
      report,
      "process start and list",
      started(folder),
      `ms, median of ${STARTS} starts from source`,
    );
    const megabytes = statSync(indexPath(folder)).size / 2 ** 20;
    stated(report, "size of the index", megabytes, "MiB");
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function fill(
  folder: string,
  runs: readonly RackRun[],
  { sample, say }: { readonly sample: number; readonly say: (text: string) => void },
): Promise<void> {
  const chance = seededChance(`${SEED} noise`);
  const every = Math.max(1, Math.floor(runs.length / sample));
  const real = runs.filter((_, at) => at % every === 0).slice(0, sample);
  const isReal = new Set(real);
  const index = await openIndex(folder);
  const made = runs.filter((run) => !isReal.has(run));
  for (let at = 0; at < made.length; at += ROWS_AT_ONCE) {
    const some = made.slice(at, at + ROWS_AT_ONCE);
    for (const { run } of some) putEmptyFolder(folder, run);
    const facts = some.map((run) => factsOfRackRun(run, chance));
    await changeIndex(index, { runs: facts, unreadable: [], gone: [] });
  }
  for (const run of real) putJournal(folder, run);
  const begun = performance.now();
  const { read, unreadable } = await catchUp(index, folder);
  const perRun = (performance.now() - begun) / Math.max(1, read);
  if (read !== real.length || unreadable > 0) {
    throw new Error(
      `Expected ${real.length} journals to be read, ${read} were, ${unreadable} not.`,
    );
  }
  say(`${read} real journals indexed, ${perRun.toFixed(1)} ms each`);
  await index.close();
}

interface Took {
  readonly first: number;
  readonly median: number;
  readonly slowest: number;
  /** Of one processor, median: what is left of the time when nothing else runs. */
  readonly work: number;
}

async function timed(ask: () => Promise<number>): Promise<Took> {
  const took: number[] = [];
  const worked: number[] = [];
  for (let turn = 0; turn < TURNS; turn += 1) {
    const begun = performance.now();
    const before = process.cpuUsage();
    const status = await ask();
    const { user, system } = process.cpuUsage(before);
    took.push(performance.now() - begun);
    worked.push((user + system) / 1000);
    if (status !== 0) throw new Error(`Expected an answer, got status ${status}.`);
  }
  const [first = Number.NaN] = took;
  return { first, median: middle(took), slowest: Math.max(...took), work: middle(worked) };
}

function started(folder: string): number {
  const took = Array.from({ length: STARTS }, () => {
    const begun = performance.now();
    const args = ["--import", "tsx", "src/main.ts", "history", "--runs", folder];
    const { status } = spawnSync(process.execPath, args, { cwd: root, stdio: "ignore" });
    if (status !== 0) throw new Error(`Expected a list, got status ${status}.`);
    return performance.now() - begun;
  });
  return middle(took);
}

function middle(values: readonly number[]): number {
  const sorted = [...values].sort((one, other) => one - other);
  return sorted[Math.floor(sorted.length / 2)] ?? Number.NaN;
}

function stated(report: FigureContext["report"], name: string, value: number, unit: string): void {
  report({
    name: `history-scale ${name}`,
    value: Math.round(value * 10) / 10,
    unit,
    limit: "stated",
    holds: Number.isFinite(value),
  });
}
