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
import { keysText } from "./keys-text.ts";
import { logPage } from "./log-page.ts";
import {
  type Band,
  band,
  bandHeight,
  bandsHeight,
  blankBand,
  PANEL_GAP_COLUMNS,
  type PanelOptions,
  type ScreenSize,
} from "./panel.ts";
import { progressPanel } from "./progress-panel.ts";
import type { Seat } from "./seat.ts";
import type { Silence } from "./silence.ts";
import { statePanel } from "./state-panel.ts";
import { stateWord } from "./state-word.ts";
import { tallWord } from "./tall-letters.ts";
import {
  BLANK_LINE,
  cleanText,
  cutLine,
  span,
  type TextLine,
  widthOf,
  wrapText,
} from "./text-line.ts";
import type { ViewState } from "./view-state.ts";
import { wrongPage } from "./wrong-page.ts";

export interface ViewOptions {
  /** Draw with plain ASCII only. */
  readonly ascii: boolean;
  readonly view: ViewState;
  /** The last picture of a run, left on the terminal above the words at its end: nothing that those
   * words say, no keys, no filling. */
  readonly final: boolean;
  /** False without a keyboard; then only signals stop the run. */
  readonly keysWork: boolean;
  readonly seat: Seat;
  /** Nothing is heard of the run any more, once that is worth saying; else null. */
  readonly silence: Silence | null;
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
/** The tall word stands beside what the run is doing, where at least this is left for the words. */
const BESIDE_COLUMNS_MIN = 30;
const TALL_ROWS_MIN = 20;
/** Below this the page of help needs the rows of the tall word. */
const HELP_TALL_ROWS_MIN = 30;
/** The last picture shares its rows with the words below it; a short one is better than a cut one. */
const TALL_FINAL_ROWS_MIN = 16;

export function viewModel(
  snapshot: RunSnapshot,
  size: ScreenSize,
  options: ViewOptions,
): ViewModel {
  const columns = Math.max(1, size.columns);
  const rows = Math.max(1, size.rows - 1);
  const room: PanelOptions = { columns, glyphs: glyphsFor(options.ascii), ascii: options.ascii };
  const top = topBands(snapshot, { room, size, options });
  const keys = options.final ? [] : bottomBands(snapshot, options, room);
  const free = rows - bandsHeight(top) - bandsHeight(keys);
  const body = middleBands(snapshot, {
    room: { ...room, rows: free, view: options.view },
    size,
    options,
  });
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
  return [
    band({ name: "heading", columns, lines: heading }),
    stateBand(snapshot, { room, size, options }),
    band({ name: "progress", columns, lines: progressPanel(snapshot, room) }),
  ];
}

/** The state of the run: a word to be read across the room, and beside it the sentences. */
function stateBand(snapshot: RunSnapshot, { room, size, options }: Surface): Band {
  const { columns } = room;
  const { word, tone } = stateWord(snapshot, options.silence !== null);
  const sentences = (panel: PanelOptions): TextLine[] =>
    options.final ? [] : statePanel(snapshot, { ...panel, silence: options.silence });
  const tall = tallWord(word, options.ascii);
  const wide = widthOf(tall[0] ?? "");
  const besideColumns = columns - wide - PANEL_GAP_COLUMNS;
  const rowsMin = options.final ? TALL_FINAL_ROWS_MIN : TALL_ROWS_MIN;
  const isTight = besideColumns < BESIDE_COLUMNS_MIN || size.rows < rowsMin;
  if (isTight || (options.view.helpShown && size.rows < HELP_TALL_ROWS_MIN)) {
    return band({ name: "state", columns, lines: sentences(room) });
  }
  const beside = { ...room, columns: besideColumns };
  return band(
    { name: "word", columns: wide, lines: tall.map((row) => [span(row, tone)]) },
    {
      name: "state",
      columns: besideColumns,
      lines: sentences(beside),
    },
  );
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

/** Keys in the last row, above them what was said to the person since their last key. */
function bottomBands(snapshot: RunSnapshot, options: ViewOptions, room: PanelOptions): Band[] {
  const { columns, glyphs, ascii } = room;
  const { view, keysWork, seat } = options;
  const isGone = options.silence?.isGone === true;
  const { helpShown, muted, notice } = view;
  const keys = keysText(snapshot, { helpShown, muted, keysWork, seat, isGone });
  const keysLine = cutLine([span(keys, "strong")], columns, glyphs.cut);
  const said =
    notice === null
      ? []
      : wrapText(cleanText(notice, ascii), { columns, rowCountMax: 2, cut: glyphs.cut });
  return [
    ...(said.length === 0
      ? []
      : [band({ name: "notice", columns, lines: said.map((row) => [span(row, "warning")]) })]),
    band({ name: "keys", columns, lines: [keysLine] }),
  ];
}

function middleBands(snapshot: RunSnapshot, { room, size, options }: Surface<BodyRoom>): Band[] {
  if (options.view.helpShown) {
    const lines = [BLANK_LINE, ...helpPanel(snapshot, { ...room, seat: options.seat })];
    return [band({ name: "help", columns: room.columns, lines })];
  }
  if (options.view.wrongShown && snapshot.soak !== undefined) {
    return [band({ name: "wrong", columns: room.columns, lines: wrongPage(snapshot, room) })];
  }
  if (options.view.logWhole) {
    return [band({ name: "log", columns: room.columns, lines: logPage(snapshot, room) })];
  }
  if (size.columns < LEAST_COLUMNS || size.rows < LEAST_ROWS) return [];
  return bodyBands(snapshot, { ...room, view: options.view });
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
