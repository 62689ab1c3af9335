/**
 * The whole screen as data: which panel stands where, and every line of it.
 *
 * Pure: the same snapshot, size and options give the same screen. No line is longer than the
 * terminal is wide, and the screen is at most one row less than the terminal is high, because a
 * frame as tall as the terminal makes it scroll.
 */
import type { RunSnapshot } from "../journal/snapshot.ts";
import { type BodyRoom, bodyBands } from "./body-layout.ts";
import { glyphsFor } from "./glyphs.ts";
import { helpPanel } from "./help-panel.ts";
import {
  type Band,
  band,
  bandHeight,
  bandsHeight,
  blankBand,
  PANEL_GAP_COLUMNS,
  type Panel,
  type PanelOptions,
  type ScreenSize,
} from "./panel.ts";
import { progressPanel } from "./progress-panel.ts";
import { statePanel } from "./state-panel.ts";
import { BLANK_LINE, cleanText, cutLine, span, type TextLine, widthOf } from "./text-line.ts";

export interface ViewOptions {
  /** Draw with plain ASCII only. */
  readonly ascii: boolean;
  readonly helpShown: boolean;
  /** The last picture of a run, left on the terminal: no keys, no filling. */
  readonly final: boolean;
  /** False without a keyboard; then only signals stop the run. */
  readonly keysWork: boolean;
}

export interface ViewModel {
  readonly columns: number;
  readonly rows: number;
  readonly bands: readonly Band[];
}

const FULL_COLUMNS = 80;
const FULL_ROWS = 24;
/** Below this only the sentence, the verdict and the keys are worth the room. */
const LEAST_COLUMNS = 40;
const LEAST_ROWS = 12;

export function viewModel(
  snapshot: RunSnapshot,
  size: ScreenSize,
  options: ViewOptions,
): ViewModel {
  const columns = Math.max(1, size.columns);
  const rows = Math.max(1, size.rows - 1);
  const room: PanelOptions = { columns, glyphs: glyphsFor(options.ascii), ascii: options.ascii };
  const top = topBands(snapshot, size, room);
  const keys = options.final ? [] : [band(keysPanel(snapshot, options, room))];
  const free = rows - bandsHeight(top) - bandsHeight(keys);
  const body = middleBands(snapshot, { room: { ...room, rows: free }, size, options });
  const blanks = options.final ? 0 : free - bandsHeight(body);
  return {
    columns,
    rows,
    bands: clipBands([...top, ...body, ...blankBand(blanks, columns)], rows, keys),
  };
}

function topBands(snapshot: RunSnapshot, size: ScreenSize, room: PanelOptions): Band[] {
  const { columns } = room;
  return [
    band({ name: "heading", columns, lines: headingLines(snapshot, size, room) }),
    band({ name: "state", columns, lines: statePanel(snapshot, room) }),
    band({ name: "progress", columns, lines: progressPanel(snapshot, room) }),
  ];
}

function headingLines(snapshot: RunSnapshot, size: ScreenSize, room: PanelOptions): TextLine[] {
  const { columns, glyphs, ascii } = room;
  const { opened, plan } = snapshot;
  const board = plan === null ? "" : `${plan.board.name} revision ${plan.board.revision}`;
  const unit = opened?.unit ? `unit ${opened.unit}` : "unit not named";
  const left = cleanText(plan === null ? "Holdfast" : `Holdfast  ${board}, ${unit}`, ascii);
  const right = cleanText(opened?.bench ?? "", ascii);
  const gap = columns - widthOf(left) - widthOf(right);
  const heading: TextLine =
    gap >= PANEL_GAP_COLUMNS
      ? [span(left, "strong"), span(" ".repeat(gap) + right, "faint")]
      : [span(left, "strong")];
  const lines = [heading];
  if (columns < FULL_COLUMNS || size.rows < FULL_ROWS) {
    const said = `${size.columns} x ${size.rows} is small; ${FULL_COLUMNS} x ${FULL_ROWS} shows everything.`;
    lines.push([span(said, "warning")]);
  }
  return lines.map((line) => cutLine(line, columns, glyphs.cut));
}

function keysPanel(snapshot: RunSnapshot, options: ViewOptions, room: PanelOptions): Panel {
  const { columns, glyphs } = room;
  const line = cutLine([span(keysText(snapshot, options), "strong")], columns, glyphs.cut);
  return { name: "keys", columns, lines: [line] };
}

function keysText(snapshot: RunSnapshot, { helpShown, keysWork }: ViewOptions): string {
  const coming = snapshot.stopRequested || snapshot.phase === "powering down";
  if (!keysWork)
    return coming ? "Powering down, please wait" : "Ctrl-C  stop and power down safely";
  const help = helpShown ? "?  back" : "?  help";
  if (snapshot.phase === "ended") return help;
  return coming
    ? `Powering down, please wait    ${help}`
    : `s or q  stop and power down safely    ${help}`;
}

interface Middle {
  readonly room: BodyRoom;
  readonly size: ScreenSize;
  readonly options: ViewOptions;
}

function middleBands(snapshot: RunSnapshot, { room, size, options }: Middle): Band[] {
  if (options.helpShown) {
    const lines = [BLANK_LINE, ...helpPanel(snapshot, room)];
    return [band({ name: "help", columns: room.columns, lines })];
  }
  if (size.columns < LEAST_COLUMNS || size.rows < LEAST_ROWS) return [];
  return bodyBands(snapshot, room);
}

/** Never taller than `rows`; the keys keep their row, the lowest panels give way. */
function clipBands(bands: readonly Band[], rows: number, keys: readonly Band[]): Band[] {
  const kept: Band[] = [];
  const keyRows = rows > 1 ? bandsHeight(keys) : 0;
  let left = rows - keyRows;
  for (const one of bands) {
    if (left <= 0) break;
    const panels = one.panels.map((panel) => ({ ...panel, lines: panel.lines.slice(0, left) }));
    kept.push({ panels });
    left -= bandHeight({ panels });
  }
  return keyRows > 0 ? [...kept, ...keys] : kept;
}
