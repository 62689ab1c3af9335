/** The steps around the one that runs, each with its state in a word. */
import type { RunSnapshot, StepSnapshot, StepState } from "../journal/snapshot.ts";
import { type PanelOptions, windowStart } from "./panel.ts";
import { cleanText, cutLine, padText, span, type TextLine, type Tone } from "./text-line.ts";
import { loopPartner, type ViewState } from "./view-state.ts";

const STATE_TONES: Readonly<Record<StepState, Tone>> = {
  waiting: "faint",
  running: "strong",
  pass: "good",
  "conditional pass": "warning",
  "conditional fail": "bad",
  fail: "bad",
  void: "warning",
  "not tested": "faint",
};

const STATE_WORDS: Readonly<Record<StepState, string>> = {
  waiting: "waiting",
  running: "running",
  pass: "pass",
  "conditional pass": "pass?",
  "conditional fail": "FAIL?",
  fail: "FAIL",
  void: "VOID",
  "not tested": "not tested",
};

const NUMBER_COLUMNS = 3;
const NAME_COLUMNS_MIN = 6;

export function stepsPanel(
  snapshot: RunSnapshot,
  options: PanelOptions & { readonly rows: number; readonly view: ViewState },
): TextLine[] {
  const { steps } = snapshot;
  if (steps.length === 0 || options.rows < 1) return [];
  const passed = steps.filter((one) => one.state === "pass").length;
  const shown = Math.min(steps.length, options.rows - 1);
  const follows = windowStart({ total: steps.length, shown, current: currentIndex(snapshot) });
  const lowest = Math.max(0, steps.length - shown);
  const from = Math.max(0, Math.min(follows - options.view.stepsBack, lowest));
  const title: TextLine =
    from === follows
      ? [span(`Steps: ${passed} of ${steps.length} passed${conditionalWords(steps)}`, "faint")]
      : [span(`Steps, ${from < follows ? "earlier" : "later"} ones: e goes back`, "warning")];
  const partner = loopPartner(options.view, snapshot);
  const visible = steps.slice(from, from + shown);
  const wordColumns = Math.max(0, ...visible.map((one) => STATE_WORDS[one.state].length));
  const rows = visible.map((step) => {
    const row = stepRow(step, wordColumns, options);
    // The other step of a loop, for the arrow keys to choose while frozen.
    return step.index === partner ? [span(options.glyphs.loop, "strong"), ...row.slice(1)] : row;
  });
  return [title, ...rows].map((line) => cutLine(line, options.columns, options.glyphs.cut));
}

/** The running step; else the one that missed; else the last one that was done. */
function currentIndex({ steps }: RunSnapshot): number {
  const running = steps.findIndex((one) => one.state === "running");
  if (running >= 0) return running;
  const missed = steps.findIndex((one) => one.state === "fail" || one.state === "void");
  return missed >= 0 ? missed : steps.findLastIndex((one) => isDone(one.state));
}

function conditionalWords(steps: readonly StepSnapshot[]): string {
  const count = steps.filter(({ state }) => state.startsWith("conditional")).length;
  return count === 0 ? "" : `, ${count} conditional`;
}

function isDone(state: StepState): boolean {
  return state === "pass" || state === "conditional pass" || state === "conditional fail";
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
    "conditional pass": glyphs.unsure,
    "conditional fail": glyphs.unsure,
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
    span(sign, tone),
    span(` ${number} `, "faint"),
    span(name, tone),
    span(` ${STATE_WORDS[step.state]}`, tone),
  ];
}
