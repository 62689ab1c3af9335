/**
 * A record as a block to paste where one asks others: plain ASCII, at most 72 columns and some sixty
 * lines, with what helps to judge a fault and nothing of the person's computer.
 */
import { voltsText } from "../measure/volts-text.ts";
import { cleanText, wrapWords } from "../screen/text-line.ts";
import type { AcceptanceRecord, StepRecord } from "./acceptance-record.ts";
import { missText, railLines, stageText } from "./record-lines.ts";
import { seconds } from "./record-words.ts";
import { soakPasteLines } from "./soak-lines.ts";

/** Letters, lists and news groups leave this much to a line before they break it. */
export const PASTE_COLUMNS = 72;
export const PASTE_LINES_MAX = 60;
/** Steps before the one that missed, for how the board came there. */
const STEPS_BEFORE = 3;
const STAGES_MAX = 8;

export function pasteLines(record: AcceptanceRecord): string[] {
  const { board, unit, verdict, rule } = record;
  const { volV, vilV, vihV, vohV } = rule.contract;
  const lines = [
    `${board.name} revision ${board.revision} (${board.title})`,
    `${verdict.toUpperCase()}, ${unit === null ? "unit not named" : `unit ${unit}`}, ${record.opened.slice(0, 10)}, ${record.program}`,
    `VOL ${volV}  VIL ${vilV}  VIH ${vihV}  VOH ${vohV} V`,
    ...(record.cause === null
      ? ["The run was cut off before it could be closed."]
      : [`Ended: ${record.cause}`]),
    ...(record.firstMiss === null ? [] : [`First miss: ${missText(record)}`]),
    ...stageLines(record),
    "",
    ...railLines(record),
    warmText(record),
    "",
    ...(record.soak === undefined ? lastSteps(record) : soakPasteLines(record.soak)),
    ...record.claims,
    ...record.doubts.map((doubt) => `doubt: ${doubt}`),
  ];
  const rows = lines.flatMap((line) => (line === "" ? [""] : wrapped(line)));
  return rows.length <= PASTE_LINES_MAX
    ? rows
    : [...rows.slice(0, PASTE_LINES_MAX - 1), "(more in the record)"];
}

/** The stage that missed, what feeds it, and what it feeds; all of a board that is small. */
function stageLines({ stages = [], firstMiss }: AcceptanceRecord): string[] {
  if (stages.length === 0) return [];
  const own = stages.find(({ output }) => output === firstMiss?.net);
  const near =
    own === undefined
      ? stages
      : stages.filter(
          ({ output, inputs }) =>
            output === own.output || own.inputs.includes(output) || inputs.includes(own.output),
        );
  const told = near.slice(0, STAGES_MAX);
  const rest = stages.length - told.length;
  return [
    "",
    ...told.flatMap(({ output }) => stageText(output, stages) ?? []),
    ...(rest > 0 ? [`and ${rest} more stages`] : []),
  ];
}

function warmText({ warmUp }: AcceptanceRecord): string {
  const { warm, tookMs, cold } = warmUp;
  const took = tookMs === null ? "" : ` after ${seconds(tookMs)}`;
  if (warm) return `warm${took}`;
  const nets = cold.map(
    ({ net, volts }) => `${net} ${volts === null ? "no reading" : voltsText(volts)}`,
  );
  return `not warm${took}${nets.length === 0 ? "" : `: ${nets.join(", ")}`}`;
}

/** How the board came to its first miss, reading by reading; of a pass only how far it went. */
function lastSteps({ steps }: AcceptanceRecord): string[] {
  const passed = steps.filter(({ result }) => result === "pass").length;
  const missed = steps.findIndex(({ result }) => result === "fail" || result === "void");
  const count = `${passed} of ${steps.length} steps passed`;
  if (missed < 0) return [count];
  return [count, ...steps.slice(Math.max(0, missed - STEPS_BEFORE), missed + 1).flatMap(stepText)];
}

function stepText({ step, name, result, readings }: StepRecord): string {
  const read = readings.map(
    ({ channel, volts, expected, result: each }) =>
      `${channel} ${volts === null ? "no reading" : voltsText(volts)}${each === "pass" ? "" : ` (${expected} wanted)`}`,
  );
  return `${step + 1} ${name}: ${result}${read.length === 0 ? "" : `; ${read.join(", ")}`}`;
}

function wrapped(line: string): string[] {
  return wrapWords(cleanText(line, true), PASTE_COLUMNS - 2).map((row, index) =>
    (index === 0 ? row : `  ${row}`).slice(0, PASTE_COLUMNS),
  );
}
