/** Where rails, levels, steps and log stand, and how many rows each may have. */
import type { RunSnapshot } from "../journal/snapshot.ts";
import { levelChannels, levelsPanel } from "./levels-panel.ts";
import { linesPanel } from "./lines-panel.ts";
import { logPanel } from "./log-panel.ts";
import { type Band, band, blankBand, PANEL_GAP_COLUMNS, type PanelOptions } from "./panel.ts";
import { railsPanel } from "./rails-panel.ts";
import { soakPanel } from "./soak-panel.ts";
import { stepsPanel } from "./steps-panel.ts";
import { BLANK_LINE, type TextLine } from "./text-line.ts";
import type { ViewState } from "./view-state.ts";

/** From here on steps stand beside rails and levels. */
const WIDE_COLUMNS = 110;
const SIDE_BY_SIDE_COLUMNS = 72;
/** Narrowest useful list of steps, and the widest that rails and levels can use. */
const STEPS_COLUMNS = 33;
const WIDE_STEPS_COLUMNS = 38;
const LEVELS_COLUMNS_MAX = 104;
const LEVELS_ROWS_MIN = 4;
const BOTTOM_ROWS_MIN = 2;
const LOG_ROWS_MIN = 5;
const BLANKS_MAX = 3;

export interface BodyRoom extends PanelOptions {
  readonly rows: number;
  readonly view: ViewState;
}

export function bodyBands(snapshot: RunSnapshot, room: BodyRoom): Band[] {
  return room.columns >= WIDE_COLUMNS ? wideBody(snapshot, room) : stackedBody(snapshot, room);
}

/** Rails, then levels, then steps beside the log. */
function stackedBody(snapshot: RunSnapshot, room: BodyRoom): Band[] {
  const { columns } = room;
  const levelsWanted = levelChannels(snapshot).length + 1;
  const railsAll = railsPanel(snapshot, room);
  const crowded = railsAll.length + levelsWanted + BOTTOM_ROWS_MIN > room.rows;
  // Where it is tight the rails' title goes first: their rows explain themselves.
  const rails = crowded ? railsAll.slice(1) : railsAll;
  const levelRows = Math.max(
    Math.min(levelsWanted, LEVELS_ROWS_MIN),
    Math.min(levelsWanted, room.rows - rails.length - BOTTOM_ROWS_MIN),
  );
  const levels = levelsPanel(snapshot, { ...room, rows: levelRows });
  const rest = Math.max(0, room.rows - rails.length - levels.length);
  const blanks = Math.max(0, Math.min(BLANKS_MAX, rest - LOG_ROWS_MIN));
  const bottom = bottomBands(snapshot, room, rest - blanks);
  return [
    ...blankBand(blanks >= 1 ? 1 : 0, columns),
    band({ name: "rails", columns, lines: rails }),
    ...blankBand(blanks >= 2 ? 1 : 0, columns),
    band({ name: "levels", columns, lines: levels }),
    ...blankBand(blanks >= 3 ? 1 : 0, columns),
    ...bottom,
  ];
}

function bottomBands(snapshot: RunSnapshot, room: BodyRoom, rows: number): Band[] {
  const { columns } = room;
  if (columns >= SIDE_BY_SIDE_COLUMNS) {
    const logColumns = columns - STEPS_COLUMNS - PANEL_GAP_COLUMNS;
    const steps = sidePanel(snapshot, { ...room, columns: STEPS_COLUMNS, rows });
    const log = logPanel(snapshot, { ...room, columns: logColumns, rows });
    return [
      band(
        { name: "steps", columns: STEPS_COLUMNS, lines: steps },
        { name: "log", columns: logColumns, lines: log },
      ),
    ];
  }
  const steps = sidePanel(snapshot, { ...room, rows: Math.ceil(rows / 2) });
  const log = logPanel(snapshot, { ...room, rows: rows - steps.length });
  return [
    band({ name: "steps", columns, lines: steps }),
    band({ name: "log", columns, lines: log }),
  ];
}

/** What a person works with: the steps, in hand mode the lines, in a soak its counts. */
function sidePanel(snapshot: RunSnapshot, room: BodyRoom): TextLine[] {
  if (snapshot.soak !== undefined) return soakPanel(snapshot, room);
  return snapshot.mode === "hand"
    ? linesPanel(snapshot, room.view, room)
    : stepsPanel(snapshot, room);
}

/** Rails, levels and log on the left, steps on the right over the whole height. */
function wideBody(snapshot: RunSnapshot, room: BodyRoom): Band[] {
  const { columns, rows } = room;
  const stepColumns = Math.max(
    WIDE_STEPS_COLUMNS,
    columns - PANEL_GAP_COLUMNS - LEVELS_COLUMNS_MAX,
  );
  const levelColumns = columns - PANEL_GAP_COLUMNS - stepColumns;
  const left = { ...room, columns: levelColumns };
  const rails = railsPanel(snapshot, left);
  const levelsWanted = levelChannels(snapshot).length + 1;
  const levelRows = Math.min(levelsWanted, rows - rails.length - LOG_ROWS_MIN);
  const levels = levelsPanel(snapshot, { ...left, rows: levelRows });
  const rest = rows - rails.length - levels.length;
  const gap = rest >= LOG_ROWS_MIN + 3 ? [BLANK_LINE] : [];
  const log = logPanel(snapshot, { ...left, rows: rest - 3 * gap.length });
  const steps = sidePanel(snapshot, { ...room, columns: stepColumns, rows: rows - gap.length });
  return [
    ...blankBand(gap.length, columns),
    band(
      {
        name: "levels",
        columns: levelColumns,
        lines: [...rails, ...gap, ...levels, ...gap, ...log],
      },
      { name: "steps", columns: stepColumns, lines: steps },
    ),
  ];
}
