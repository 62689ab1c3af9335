/** Board, rig and sequence in one SVG, one under the other. */
import { boardFoot, wordLines } from "./board-foot.ts";
import {
  circle,
  type Drawing,
  type Extent,
  LETTER,
  line,
  MARGIN,
  newDrawing,
  ROW,
  rect,
  svgText,
  text,
} from "./svg.ts";
import { drawRig } from "./svg-rig.ts";
import { drawTiming } from "./svg-timing.ts";
import { INVERTING, type PictureGiven } from "./text-picture.ts";

const STAGE_COLUMNS_MAX = 3;
const BOARD_WIDTH_MAX = 1200;
const BOX_WIDTH_MIN = 96;
const WIRE = 28;
/** Letters of a line below the stages: as wide as three of them. */
const FOOT_LETTERS = 100;
const GAP = 28;

export function proofSvg(given: PictureGiven): string {
  const drawing = newDrawing();
  const { board, plan } = given;
  const stages = drawBoard(drawing, given, MARGIN);
  const rig = drawRig(drawing, given, stages.bottom + GAP);
  const timing = drawTiming(drawing, plan, rig.bottom + GAP);
  return svgText(drawing, {
    title: `${board.board} revision ${board.revision}`,
    description: `${board.title}: its stages, the rig it is proved on, and the ${plan.steps.length} steps of its sequence.`,
    width: Math.max(stages.right, rig.right, timing.right) + MARGIN,
    height: timing.bottom + MARGIN,
  });
}

/** Stages as boxes in columns; nets are joined by their names, so that no wire crosses another. */
function drawBoard(drawing: Drawing, { board }: PictureGiven, top: number): Extent {
  const title = `Board ${board.board}, revision ${board.revision}: ${board.title}`;
  text(drawing, { x: MARGIN, y: top + 14, look: "strong" }, title);
  const heading = title.length * (LETTER + 1);
  const stages = Object.entries(board.stages);
  const cell = cellFor(stages);
  for (const [index, stage] of stages.entries()) {
    const x = MARGIN + (index % cell.columns) * cell.width;
    const y = top + GAP + Math.floor(index / cell.columns) * (cell.boxHeight + GAP);
    drawStage(drawing, stage, { x: x + cell.inputWidth, y }, cell);
  }
  const rows = Math.ceil(stages.length / cell.columns);
  let y = top + GAP + rows * (cell.boxHeight + GAP);
  for (const { label, words } of boardFoot(board)) {
    text(drawing, { x: MARGIN, y, look: "strong" }, label);
    for (const listed of wordLines(words, FOOT_LETTERS)) {
      text(drawing, { x: MARGIN + 6 * LETTER, y }, listed);
      y += ROW;
    }
  }
  return {
    bottom: y - ROW + 6,
    right: MARGIN + Math.max(cell.columns * cell.width, FOOT_LETTERS * LETTER, heading),
  };
}

type NamedStage = readonly [name: string, stage: PictureGiven["board"]["stages"][string]];

/** One size for all stages, so wide that the longest names stay clear of each other. */
interface Cell {
  readonly columns: number;
  readonly width: number;
  readonly inputWidth: number;
  readonly boxWidth: number;
  readonly boxHeight: number;
}

function cellFor(stages: readonly NamedStage[]): Cell {
  const letters = (words: readonly string[]) => Math.max(...words.map((one) => one.length));
  const inputWidth = letters(stages.flatMap(([, { inputs }]) => inputs)) * LETTER + WIRE + 4;
  const outputWidth = letters(stages.map(([, { output }]) => output)) * LETTER + WIRE + 4;
  const labels = stages.flatMap(([name, { type }]) => [name, type]);
  const boxWidth = Math.max(BOX_WIDTH_MIN, letters(labels) * (LETTER + 1) + 12);
  const width = inputWidth + boxWidth + outputWidth + GAP;
  const columns = Math.max(1, Math.min(STAGE_COLUMNS_MAX, Math.floor(BOARD_WIDTH_MAX / width)));
  const inputsMax = Math.max(...stages.map(([, { inputs }]) => inputs.length), 2);
  return { columns, width, inputWidth, boxWidth, boxHeight: inputsMax * ROW };
}

function drawStage(
  drawing: Drawing,
  [name, stage]: NamedStage,
  { x, y }: { readonly x: number; readonly y: number },
  { boxWidth, boxHeight }: Cell,
): void {
  rect(drawing, { x, y, w: boxWidth, h: boxHeight }, "box");
  const centre = x + boxWidth / 2;
  text(drawing, { x: centre, y: y + 16, anchor: "middle", look: "strong" }, name);
  text(drawing, { x: centre, y: y + 32, anchor: "middle" }, stage.type);
  for (const [at, input] of stage.inputs.entries()) {
    const wireY = y + (boxHeight / (stage.inputs.length + 1)) * (at + 1);
    line(
      drawing,
      [
        [x - WIRE + 4, wireY],
        [x, wireY],
      ],
      "wire",
    );
    text(drawing, { x: x - WIRE, y: wireY + 4, anchor: "end" }, input);
  }
  const outY = y + boxHeight / 2;
  const outX = x + boxWidth;
  line(
    drawing,
    [
      [outX, outY],
      [outX + WIRE, outY],
    ],
    "wire",
  );
  if (INVERTING.has(stage.type)) circle(drawing, { x: outX + 5, y: outY, r: 5 }, "wire");
  text(drawing, { x: outX + WIRE + 4, y: outY + 4 }, stage.output);
}
