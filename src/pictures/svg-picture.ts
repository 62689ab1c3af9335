/** Board, rig and sequence in one SVG, one under the other. */
import { channelName } from "../plan/proof-documents.ts";
import { duration } from "../plan/quantity-words.ts";
import { circle, type Drawing, line, newDrawing, rect, svgText, text } from "./svg.ts";
import { INVERTING, type PictureGiven, rigPicture } from "./text-picture.ts";
import { type Timing, type TimingRow, timingOf } from "./timing.ts";

const MARGIN = 24;
const ROW = 20;
const LETTER = 8;
const STAGE_COLUMNS = 3;
const STAGE_WIDTH = 300;
const BOX_WIDTH = 96;
const GAP = 28;

/** How far down a part of the picture reaches, and how far to the right. */
interface Extent {
  readonly bottom: number;
  readonly right: number;
}

export function proofSvg(given: PictureGiven): string {
  const drawing = newDrawing();
  const { board, plan } = given;
  const stages = drawBoard(drawing, given, MARGIN);
  const rig = drawRig(drawing, given, stages.bottom + GAP);
  const timing = drawTiming(drawing, given, rig.bottom + GAP);
  return svgText(drawing, {
    title: `${board.board} revision ${board.revision}`,
    description: `${board.title}: its stages, the rig it is proved on, and the ${plan.steps.length} steps of its sequence.`,
    width: Math.max(stages.right, rig.right, timing.right) + MARGIN,
    height: timing.bottom + MARGIN,
  });
}

/** Stages as boxes in columns; nets are joined by their names, so that no wire crosses another. */
function drawBoard(drawing: Drawing, { board }: PictureGiven, top: number): Extent {
  text(
    drawing,
    { x: MARGIN, y: top + 14, look: "strong" },
    `Board ${board.board}, revision ${board.revision}: ${board.title}`,
  );
  const stages = Object.entries(board.stages);
  const inputsMax = Math.max(...stages.map(([, { inputs }]) => inputs.length), 2);
  const cellHeight = inputsMax * ROW + GAP;
  for (const [index, [name, stage]] of stages.entries()) {
    const x = MARGIN + (index % STAGE_COLUMNS) * STAGE_WIDTH;
    const y = top + GAP + Math.floor(index / STAGE_COLUMNS) * cellHeight;
    const boxX = x + 90;
    const boxHeight = inputsMax * ROW;
    rect(drawing, { x: boxX, y, w: BOX_WIDTH, h: boxHeight }, "box");
    const centre = boxX + BOX_WIDTH / 2;
    text(drawing, { x: centre, y: y + 16, anchor: "middle", look: "strong" }, name);
    text(drawing, { x: centre, y: y + 32, anchor: "middle" }, stage.type);
    for (const [at, input] of stage.inputs.entries()) {
      const wireY = y + (boxHeight / (stage.inputs.length + 1)) * (at + 1);
      line(
        drawing,
        [
          [boxX - 24, wireY],
          [boxX, wireY],
        ],
        "wire",
      );
      text(drawing, { x: boxX - 28, y: wireY + 4, anchor: "end" }, input);
    }
    const outY = y + boxHeight / 2;
    const outX = boxX + BOX_WIDTH;
    line(
      drawing,
      [
        [outX, outY],
        [outX + 28, outY],
      ],
      "wire",
    );
    if (INVERTING.has(stage.type)) circle(drawing, { x: outX + 5, y: outY, r: 5 }, "wire");
    text(drawing, { x: outX + 32, y: outY + 4 }, stage.output);
  }
  const rows = Math.ceil(stages.length / STAGE_COLUMNS);
  const pinsY = top + GAP + rows * cellHeight;
  const loads = Object.entries(board.loads ?? {}).map(([load, { net }]) => `${load} on ${net}`);
  text(drawing, { x: MARGIN, y: pinsY, look: "faint" }, `Loads: ${loads.join(", ") || "none"}`);
  return {
    bottom: pinsY + 6,
    right: MARGIN + Math.min(stages.length, STAGE_COLUMNS) * STAGE_WIDTH,
  };
}

/** The rig in the words of its text picture, which are a table already. */
function drawRig(drawing: Drawing, given: PictureGiven, top: number): Extent {
  const lines = rigPicture(given, false);
  for (const [index, words] of lines.entries()) {
    const look = index === 0 ? ({ look: "strong" } as const) : {};
    text(drawing, { x: MARGIN, y: top + 14 + index * ROW, ...look }, words.trimStart());
  }
  const longest = Math.max(...lines.map((words) => words.length));
  return { bottom: top + lines.length * ROW, right: MARGIN + longest * LETTER };
}

const STEP_WIDTH = 18;
const WAVE_HEIGHT = 12;

function drawTiming(drawing: Drawing, { plan, rig }: PictureGiven, top: number): Extent {
  const timing = timingOf(plan);
  const names = [...timing.rows.map(({ name }) => name), ...rig.channels.map(channelName)];
  const left = MARGIN + Math.max(...names.map((name) => name.length)) * LETTER + 12;
  text(
    drawing,
    { x: MARGIN, y: top + 14, look: "strong" },
    `Sequence ${plan.sequence.name}: ${plan.steps.length} steps, about ${duration(plan.estimatedPassMs)} when warm`,
  );
  const rowsTop = top + 48;
  const right = left + timing.columns.length * STEP_WIDTH;
  drawRuler(drawing, timing, { left, top: rowsTop });
  for (const [index, row] of timing.rows.entries()) {
    const y = rowsTop + index * ROW + (row.kind === "net" ? ROW / 2 : 0);
    text(
      drawing,
      { x: left - 8, y: y + 14, anchor: "end", look: row.kind === "line" ? "strong" : "faint" },
      row.name,
    );
    drawWave(drawing, row, { left, top: y + 2 });
  }
  const bottom = rowsTop + (timing.rows.length + 1) * ROW;
  const holds = timing.columns.flatMap(({ name, kind, lengthMs }, index) =>
    kind === "pattern" ? [] : [`${index + 1} ${name}, ${duration(lengthMs)}`],
  );
  for (const [index, words] of holds.entries()) {
    text(drawing, { x: MARGIN, y: bottom + 14 + index * ROW, look: "faint" }, words);
  }
  return { bottom: bottom + holds.length * ROW, right };
}

/** A number every five steps, and holds shaded over the whole height. */
function drawRuler(
  drawing: Drawing,
  { columns, rows }: Timing,
  { left, top }: { readonly left: number; readonly top: number },
): void {
  const height = (rows.length + 0.5) * ROW;
  for (const [index, { kind }] of columns.entries()) {
    const x = left + index * STEP_WIDTH;
    if (kind !== "pattern") rect(drawing, { x, y: top, w: STEP_WIDTH, h: height }, "moved");
    if (index % 5 !== 0) continue;
    text(drawing, { x: x + 2, y: top - 6, look: "faint" }, String(index + 1));
    line(
      drawing,
      [
        [x, top],
        [x, top + height],
      ],
      "rule",
    );
  }
}

/** One row as a wave: a step up is high, down is low; a dashed box is between; a gap is not said. */
function drawWave(
  drawing: Drawing,
  { cells }: TimingRow,
  { left, top }: { readonly left: number; readonly top: number },
): void {
  let points: [number, number][] = [];
  const flush = (): void => {
    if (points.length > 0) line(drawing, points, "wire");
    points = [];
  };
  for (const [index, cell] of cells.entries()) {
    const x = left + index * STEP_WIDTH;
    if (cell === "high" || cell === "low") {
      const y = cell === "high" ? top : top + WAVE_HEIGHT;
      points.push([x, y], [x + STEP_WIDTH, y]);
      continue;
    }
    flush();
    if (cell === "between") {
      rect(drawing, { x, y: top, w: STEP_WIDTH, h: WAVE_HEIGHT }, "between");
    }
  }
  flush();
}
