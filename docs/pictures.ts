/**
 * Draw the pictures of the screen from runs made here and now: the shipped latch on the emulated
 * bench, proved, in hand mode and frozen, its journal folded again, and the screen's own renderer
 * asked for the text.
 *
 *   node --import tsx docs/pictures.ts      writes the .svg files beside this file
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { renderToString } from "ink";
import { createElement } from "react";
import { closingWords } from "../src/commands/prove/closing-words.ts";
import { foldEvent, initialSnapshot } from "../src/journal/fold.ts";
import { readJournal } from "../src/journal/read-journal.ts";
import type { RunSnapshot } from "../src/journal/snapshot.ts";
import { lastPicture } from "../src/screen/render-screen.tsx";
import { Screen } from "../src/screen/screen.tsx";
import { viewModel } from "../src/screen/view-model.ts";
import { INITIAL_VIEW } from "../src/screen/view-state.ts";

const COLUMNS = 104;
const ROWS = 31;
const CELL_WIDTH_PX = 8.4;
const CELL_HEIGHT_PX = 18;
const BORDER_PX = 16;
/** The moment of the first picture: half of the long hold is over. */
const HOLD_SHOWN_MS = 60_000;

const root = resolve(import.meta.dirname, "..");

interface MadeRun {
  readonly folder: string;
  /** The run after each of its events. */
  readonly states: readonly RunSnapshot[];
}

/** Make a run as a person does, with what they type, and fold its journal again. */
function madeRun(args: readonly string[], typed: readonly string[] = []): MadeRun {
  const runs = mkdtempSync(join(tmpdir(), "holdfast-pictures-"));
  const program = ["--import", "tsx", "src/main.ts", ...args, "--plain", "--unit", "LV-12"];
  try {
    const input = `${typed.join("\n")}\n`;
    // A board that fails ends with another status than 0; its journal is what counts here.
    spawnSync(process.execPath, [...program, "--runs", runs], { cwd: root, input });
    const [folder] = readdirSync(runs);
    if (folder === undefined) throw new Error(`expected the folder of one run in ${runs}`);
    let run = initialSnapshot();
    const states = readJournal(join(runs, folder, "journal.ndjson")).entries.map((entry) => {
      run = foldEvent(run, entry);
      return run;
    });
    return { folder, states };
  } finally {
    rmSync(runs, { recursive: true });
  }
}

function firstOf({ states }: MadeRun, is: (run: RunSnapshot) => boolean): RunSnapshot {
  const found = states.find(is);
  if (found === undefined) throw new Error("expected a moment of the run to be shown, found none");
  return found;
}

function lastOf({ states, ...made }: MadeRun, is: (run: RunSnapshot) => boolean): RunSnapshot {
  return firstOf({ ...made, states: [...states].reverse() }, is);
}

function screenText(snapshot: RunSnapshot): string {
  const options = {
    ascii: false,
    view: INITIAL_VIEW,
    final: false,
    keysWork: true,
    seat: "own",
    silence: null,
  } as const;
  const model = viewModel(snapshot, { columns: COLUMNS, rows: ROWS }, options);
  return renderToString(createElement(Screen, { model, colour: false }), { columns: COLUMNS });
}

function endText(made: MadeRun): string {
  const folder = join("runs", made.folder);
  const ended = firstOf(made, ({ verdict }) => verdict !== null);
  const words = closingWords(
    ended,
    {
      journal: join(folder, "journal.ndjson"),
      record: join(folder, "record.json"),
      rig: ended.plan?.rig.name ?? "",
      blocked: false,
    },
    null,
  );
  const size = { columns: COLUMNS, rows: ROWS - words.length };
  const picture = lastPicture(ended, size, { ascii: false, colour: false });
  return [picture.trimEnd(), ...words].join("\n");
}

const xmlEscapes: Readonly<Record<string, string>> = { "&": "&amp;", "<": "&lt;", ">": "&gt;" };

/** Pieces between gaps stand at their own column, so that no font can shift what follows. */
function rowSvg(row: string, index: number): string[] {
  const y = BORDER_PX + (index + 0.75) * CELL_HEIGHT_PX;
  return [...row.matchAll(/\S+(?: \S+)*/g)].map((piece) => {
    const x = BORDER_PX + piece.index * CELL_WIDTH_PX;
    const width = [...piece[0]].length * CELL_WIDTH_PX;
    const text = piece[0].replaceAll(/[&<>]/g, (sign) => xmlEscapes[sign] ?? sign);
    const at = `x="${x.toFixed(1)}" y="${y.toFixed(1)}" textLength="${width.toFixed(1)}"`;
    return `<text ${at} lengthAdjust="spacingAndGlyphs">${text}</text>`;
  });
}

/** Monospace text, dark on light, as a picture of its own. */
function svgOf(text: string, title: string): string {
  const rows = text.split("\n");
  const width = Math.ceil(COLUMNS * CELL_WIDTH_PX + 2 * BORDER_PX);
  const height = Math.ceil(rows.length * CELL_HEIGHT_PX + 2 * BORDER_PX);
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" role="img">`,
    `<title>${title}</title>`,
    `<rect x="0.5" y="0.5" width="${width - 1}" height="${height - 1}" rx="6" fill="#fcfbf7" stroke="#b9b4a6"/>`,
    `<g font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="14" fill="#22211d">`,
    ...rows.flatMap(rowSvg),
    "</g>",
    "</svg>",
    "",
  ].join("\n");
}

function soakedNight(): MadeRun {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-night-"));
  try {
    const scenario = join(folder, "night.yaml");
    writeFileSync(scenario, night);
    return madeRun(["soak", "--hours", "4", "--night", scenario]);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const proof = madeRun(["prove"]);
const holding = firstOf(proof, ({ hold }) => (hold?.elapsedMs ?? 0) >= HOLD_SHOWN_MS);
const hand = madeRun(["hand"], ["SET high", "wait 3000", "SET low", "wait 3000", "let go"]);
const byHand = lastOf(hand, (run) => run.hand !== null);
// A weak section: low, but above what a stage may give.
const weak = ["prove", "--freeze", "--fault", "V1a.emission=0.55"];
const frozen = lastOf(
  madeRun(weak, ["loop 1", "wait 4000", "let go"]),
  ({ freeze }) => freeze !== null && freeze.loopTo !== null && freeze.newest === "fail",
);
/** Something pulls Q for less than a cycle, once in four hours. */
const night = [
  "format: holdfast-scenario",
  "version: 1",
  "scenario: one-pull",
  "seed: 7",
  "glitches:",
  "  - { glitch: pull, net: Q, volts: 5, forMs: 400, atHours: 3.2 }",
  "",
].join("\n");
const soaked = soakedNight();
const morning = lastOf(soaked, (run) => run.phase === "soaking");
const pictures: readonly [string, string][] = [
  ["screen.svg", svgOf(screenText(holding), "The screen while the latch must hold")],
  ["verdict.svg", svgOf(endText(proof), "What stays on the terminal after a pass")],
  ["hand.svg", svgOf(screenText(byHand), "The screen while the lines are in a person's hand")],
  ["soak.svg", svgOf(screenText(morning), "A soak of four hours: one wrong cycle, and when")],
  ["frozen.svg", svgOf(screenText(frozen), "The screen while a failed step is looped, power on")],
];
/** Written by the command itself, as a person has it drawn. */
function coveragePicture(): void {
  const args = [
    "grade",
    "sequences/flasher-latch",
    "--picture",
    join(import.meta.dirname, "coverage.svg"),
  ];
  spawnSync(process.execPath, ["--import", "tsx", "src/main.ts", ...args], { cwd: root });
}

coveragePicture();
for (const [name, svg] of pictures) writeFileSync(join(import.meta.dirname, name), svg);
