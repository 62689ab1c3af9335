/**
 * The index deleted and drawn again from the files equals the old one, table by table, whatever the order of
 * its rows: runs made here on the emulated bench and indexed as they ended, journals of every age, a person's
 * notes, a check of a rig, and one journal that was cut off.
 */
import { spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { DatabaseSync } from "node:sqlite";
import { withFreshIndex } from "../../src/commands/history/fresh-index.ts";
import { rebuildIndexCommand } from "../../src/commands/rebuild-index.ts";
import { indexPath } from "../../src/store/run-index/open-index.ts";
import { healthyEvents } from "../journal/latch-run.ts";
import { writeRun } from "../journal/write-run.ts";
import type { FigureContext } from "./figure.ts";

const root = resolve(import.meta.dirname, "../..");
const golden = join(root, "tests/golden/journal");

/** Runs made on the emulated bench, the first on the real firmware. */
const MADE: readonly (readonly string[])[] = [
  ["prove", "sequences/flasher-latch", "--unit", "sequences/flasher-latch/unit.yaml"],
  ["prove", "sequences/flasher-latch", "--unit", "LV-13", "--seed", "2", "--modelled"],
  ["prove", "sequences/fog-divider", "--unit", "LV-40", "--modelled"],
  [
    "prove",
    "sequences/flasher-latch",
    "--unit",
    "LV-14",
    "--modelled",
    "--fault",
    "V1b.emission=0.3",
  ],
  ["soak", "sequences/flasher-latch", "--unit", "LV-13", "--cycles", "50", "--modelled"],
  ["rig-check", "sequences/flasher-latch"],
];

const NOTES = `format: holdfast-notes
version: 1
baselines:
  - { run: 2026-01-01-090000-flasher-latch, note: first proof of the rack }
tubes:
  LV-T031:
    - { date: 2026-05-03, removed: low creeps up, unit: LV-12, position: V1, by: AB }
    - { date: 2026-05-04, retest: 9.6 mA at 250 V and -8.5 V, found: good }
`;

export async function figure({ report, say }: FigureContext): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-rebuild-"));
  const io = { out: say, error: say };
  try {
    for (const args of MADE) make(folder, args, say);
    putOlder(folder);
    writeFileSync(join(folder, "notes.yaml"), NOTES);
    await withFreshIndex(folder, io, async () => undefined);
    const before = tablesOf(folder);
    for (const suffix of ["", "-wal", "-shm"])
      rmSync(`${indexPath(folder)}${suffix}`, { force: true });
    const status = await rebuildIndexCommand(folder, io);
    const after = tablesOf(folder);
    for (const [table, rows] of before) {
      const again = after.get(table) ?? [];
      const alike = rows.length === again.length && rows.every((row, at) => row === again[at]);
      report({
        name: `rebuild ${table}`,
        value: rows.filter((row, at) => row === again[at]).length,
        unit: "rows alike",
        limit: `all ${rows.length}`,
        holds: alike,
      });
    }
    const empty = [...before].filter(([, rows]) => rows.length === 0).map(([table]) => table);
    say(`tables without rows: ${empty.join(", ") || "none"}`);
    report({
      name: "rebuild exit status, integrity check among it",
      value: status,
      unit: "status",
      limit: "= 0",
      holds: status === 0 && before.size === after.size,
    });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function make(folder: string, args: readonly string[], say: (text: string) => void): void {
  const begun = performance.now();
  const { status, stderr } = spawnSync(
    process.execPath,
    ["--import", "tsx", "src/main.ts", ...args, "--plain", "--yes", "--runs", folder],
    { cwd: root, encoding: "utf8" },
  );
  say(`${args.join(" ")}: status ${status}, ${((performance.now() - begun) / 1000).toFixed(1)} s`);
  // A board that fails is a run as well; anything else is none.
  if (status !== 0 && status !== 1) throw new Error(stderr);
}

/** Journals of every age, and one whose last line was torn. */
function putOlder(folder: string): void {
  for (const file of readdirSync(golden).filter((name) => name.endsWith(".ndjson"))) {
    const run = join(folder, file.replace(/\.ndjson$/, ""));
    mkdirSync(run);
    copyFileSync(join(golden, file), join(run, "journal.ndjson"));
  }
  for (const [run, cut] of [
    ["torn", 40],
    ["unreadable", 1e9],
  ] as const) {
    mkdirSync(join(folder, run));
    const { bytes } = writeRun(healthyEvents);
    writeFileSync(
      join(folder, run, "journal.ndjson"),
      bytes.subarray(0, Math.max(0, bytes.length - cut)),
    );
  }
}

/** Every row of every table as text, in an order of its own: read by SQLite itself, and not by the index. */
function tablesOf(folder: string): Map<string, string[]> {
  const database = new DatabaseSync(indexPath(folder), { readOnly: true });
  const names = database
    .prepare("select name from sqlite_schema where type = 'table' order by name")
    .all();
  const tables = new Map(
    names.map(({ name }) => [
      String(name),
      database
        .prepare(`select * from "${String(name)}"`)
        .all()
        .map((row) => JSON.stringify(Object.entries(row).sort()))
        .sort(),
    ]),
  );
  database.close();
  return tables;
}
