/** The steps around the one that runs, each with its state in a word. */
import type { RunSnapshot, StepSnapshot, StepState } from "../journal/snapshot.ts";
import { type PanelOptions, windowStart } from "./panel.ts";
import { cleanText, cutLine, padText, span, type TextLine, type Tone } from "./text-line.ts";

const STATE_TONES: Readonly<Record<StepState, Tone>> = {
  waiting: "faint",
  running: "strong",
  pass: "good",
  fail: "bad",
  void: "warning",
  "not tested": "faint",
};

const STATE_WORDS: Readonly<Record<StepState, string>> = {
  waiting: "waiting",
  running: "running",
  pass: "pass",
  fail: "FAIL",
  void: "VOID",
  "not tested": "not tested",
};

const NUMBER_COLUMNS = 3;
const NAME_COLUMNS_MIN = 6;

export function stepsPanel(
  snapshot: RunSnapshot,
  options: PanelOptions & { readonly rows: number },
): TextLine[] {
  const { steps } = snapshot;
  if (steps.length === 0 || options.rows < 1) return [];
  const passed = steps.filter((one) => one.state === "pass").length;
  const title: TextLine = [span(`Steps: ${passed} of ${steps.length} passed`, "faint")];
  const shown = Math.min(steps.length, options.rows - 1);
  const from = windowStart({ total: steps.length, shown, current: currentIndex(snapshot) });
  const visible = steps.slice(from, from + shown);
  const wordColumns = Math.max(0, ...visible.map((one) => STATE_WORDS[one.state].length));
  const rows = visible.map((step) => stepRow(step, wordColumns, options));
  return [title, ...rows].map((line) => cutLine(line, options.columns, options.glyphs.cut));
}

/** The running step; else the one that missed; else the last one that was done. */
function currentIndex({ steps }: RunSnapshot): number {
  const running = steps.findIndex((one) => one.state === "running");
  if (running >= 0) return running;
  const missed = steps.findIndex((one) => one.state === "fail" || one.state === "void");
  return missed >= 0 ? missed : steps.findLastIndex((one) => one.state === "pass");
}

function stepRow(
  step: StepSnapshot,
  wordColumns: number,
  { columns, glyphs, ascii }: PanelOptions,
): TextLine {
  const sign = {
    waiting: glyphs.waiting,
    running: glyphs.running,
    pass: glyphs.good,
    fail: glyphs.bad,
    void: glyphs.unsure,
    "not tested": glyphs.skipped,
  }[step.state];
  const tone = STATE_TONES[step.state];
  const number = String(step.index + 1).padStart(NUMBER_COLUMNS);
  const taken = 2 + NUMBER_COLUMNS + 1 + 1 + wordColumns;
  const name = padText(
    cleanText(step.name, ascii),
    Math.max(NAME_COLUMNS_MIN, columns - taken),
    glyphs.cut,
  );
  return [
    span(`${sign} `, tone),
    span(`${number} `, "faint"),
    span(name, tone),
    span(` ${STATE_WORDS[step.state]}`, tone),
  ];
}
