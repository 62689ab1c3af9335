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
  /** The last picture of a run, left on the terminal above the words at its end: nothing that those
   * words say, no keys, no filling. */
  readonly final: boolean;
  /** False without a keyboard; then only signals stop the run. */
  readonly keysWork: boolean;
}

export interface ViewModel {
  readonly columns: number;
  readonly rows: number;
  readonly bands: readonly Band[];
}

interface Surface<Room extends PanelOptions = PanelOptions> {
  readonly room: Room;
  readonly size: ScreenSize;
  readonly options: ViewOptions;
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
  const top = topBands(snapshot, { room, size, options });
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

function topBands(snapshot: RunSnapshot, { room, size, options }: Surface): Band[] {
  const { columns } = room;
  const small = !options.final && (columns < FULL_COLUMNS || size.rows < FULL_ROWS);
  const heading = [headingLine(snapshot, room), ...(small ? [smallLine(size, room)] : [])];
  const state = options.final ? [] : statePanel(snapshot, room);
  return [
    band({ name: "heading", columns, lines: heading }),
    band({ name: "state", columns, lines: state }),
    band({ name: "progress", columns, lines: progressPanel(snapshot, room) }),
  ];
}

function smallLine(
  { columns, rows }: ScreenSize,
  { glyphs, columns: most }: PanelOptions,
): TextLine {
  const said = `${columns} x ${rows} is small; ${FULL_COLUMNS} x ${FULL_ROWS} shows everything.`;
  return cutLine([span(said, "warning")], most, glyphs.cut);
}

function headingLine(snapshot: RunSnapshot, { columns, glyphs, ascii }: PanelOptions): TextLine {
  const { opened, plan } = snapshot;
  const board = plan === null ? "" : `${plan.board.name} revision ${plan.board.revision}`;
  const unit = opened?.unit ? `unit ${opened.unit}` : "unit not named";
  const left = cleanText(plan === null ? "Holdfast" : `Holdfast  ${board}, ${unit}`, ascii);
  const right = cleanText(opened?.bench ?? "", ascii);
  const gap = columns - widthOf(left) - widthOf(right);
  const line: TextLine =
    gap >= PANEL_GAP_COLUMNS
      ? [span(left, "strong"), span(" ".repeat(gap) + right, "faint")]
      : [span(left, "strong")];
  return cutLine(line, columns, glyphs.cut);
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

function middleBands(snapshot: RunSnapshot, { room, size, options }: Surface<BodyRoom>): Band[] {
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
