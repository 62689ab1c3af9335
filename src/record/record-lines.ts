/** A record as a page of text that a person reads in a few minutes, verdict first. */

import type { PlannedStage } from "../events/plan.ts";
import { inPlace } from "../events/stage-place.ts";
import { limitText, measuredText, voltsText } from "../measure/volts-text.ts";
import { wrapWords } from "../screen/text-line.ts";
import type { AcceptanceRecord, ResultTotal } from "./acceptance-record.ts";
import { blanksOf } from "./blanks.ts";
import { FALL_WORDS, seconds } from "./record-words.ts";
import { conditionLines, methodLines, releaseLines, rigLines } from "./report-lines.ts";
import { soakSectionsOf } from "./soak-lines.ts";
import { uncertaintyLines } from "./uncertainty-lines.ts";

export const RECORD_COLUMNS = 80;

/** Enough of a SHA-256 to tell files apart on paper; the whole of it stands in the data. */
const HASH_DIGITS = 16;

/** Steps that did not pass are listed one by one up to here. */
const MISSES_MAX = 20;

export function recordLines(record: AcceptanceRecord): string[] {
  return [
    ...heading(record),
    ...soakSectionsOf(record.soak).flatMap(({ title, lines }) => section(title, lines)),
    ...(record.mode === "soak" ? [] : section("What was shown", shownLines(record))),
    ...section("What was not", notShownLines(record)),
    ...section("Departures", record.departures),
    ...section("Left blank", blanksOf(record)),
    ...section("Worst cases", worstLines(record.results)),
    ...section("Steps that did not pass", missLines(record)),
    ...section("Warm-up", warmLines(record)),
    ...section("Rails", railLines(record)),
    ...section("Unit", unitLines(record)),
    ...section("Method and limits", methodLines(record)),
    ...section("Rig", rigLines(record)),
    ...section("Uncertainty", uncertaintyLines(record)),
    ...section("Conditions", conditionLines(record)),
    ...section("Remarked on meanwhile", record.remarks),
    ...section("Files", sourceLines(record)),
    ...section("What this is not", record.statements),
  ];
}

/** Nothing to say, no heading. */
function section(title: string, lines: readonly string[]): string[] {
  if (lines.length === 0) return [];
  return ["", title, ...lines.flatMap((line) => indented(line, "  "))];
}

function indented(line: string, indent: string, columns = RECORD_COLUMNS): string[] {
  return wrapWords(line, columns - indent.length - 2).map((row, index) =>
    index === 0 ? `${indent}${row}` : `${indent}  ${row}`,
  );
}

function heading(record: AcceptanceRecord): string[] {
  const { board, verdict, unit, run, opened, closed } = record;
  const title = `${verdict.toUpperCase()}  ${board.name} revision ${board.revision}, ${unit === null ? "unit not named" : `unit ${unit}`}`;
  const by = record.mode === "hand" ? "By hand: nothing was judged." : causeText(record);
  return [
    title,
    "=".repeat(Math.min(RECORD_COLUMNS, title.length)),
    ...wrapWords(by, RECORD_COLUMNS),
    ...(record.firstMiss === null
      ? []
      : wrapWords(`First miss: ${missText(record)}`, RECORD_COLUMNS)),
    "",
    ...wrapWords(record.scope, RECORD_COLUMNS),
    "",
    `Run ${run}`,
    `Begun  ${opened}`,
    `${closed === null ? "Never closed" : `Closed ${closed}`}, ${seconds(record.lengthMs)}`,
    ...releaseLines(record).flatMap((line) => indented(line, "")),
  ];
}

export function causeText({ cause, detail }: AcceptanceRecord): string {
  if (cause === null) return "The run was cut off before it could be closed.";
  return `Ended: ${cause}${detail === null || detail === "" ? "" : ` (${detail})`}.`;
}

export function missText({ firstMiss }: AcceptanceRecord): string {
  if (firstMiss === null) return "none";
  const step = firstMiss.step === null ? "" : `step ${firstMiss.step + 1}: `;
  return `${step}${firstMiss.text}`;
}

export function shownLines({ steps, holds, results }: AcceptanceRecord): string[] {
  const passed = steps.filter(({ result }) => result === "pass").length;
  const readings = results.reduce((sum, { count }) => sum + count, 0);
  return [
    `${passed} of ${steps.length} steps passed${conditionalWords(steps)}, ${readings} required readings.`,
    ...holds.map(
      ({ name, part, result, heldMs, requiredMs, watched }) =>
        `${name}, ${part}: ${result}, ${seconds(heldMs)} of ${seconds(requiredMs)}. Watched: ${watched}.`,
    ),
  ];
}

function conditionalWords(steps: AcceptanceRecord["steps"]): string {
  const count = steps.filter(({ result }) => result.startsWith("conditional")).length;
  return count === 0 ? "" : ` and ${count} conditionally`;
}

export function notShownLines({ claims, holds, gaps, doubts }: AcceptanceRecord): string[] {
  const unwatched = [...new Set(holds.map(({ notWatched }) => notWatched))];
  return [
    ...claims,
    ...unwatched.map((what) => `not watched: ${what}`),
    ...gaps.map((gap) => `gap: ${gap}`),
    ...doubts.map((doubt) => `doubt: ${doubt}`),
  ];
}

function worstLines(results: readonly ResultTotal[]): string[] {
  return results.flatMap(({ channel, expected, count, worst }) => {
    if (worst === null) return [];
    const side = expected === "high" ? "at least" : "at most";
    const room = `room ${voltsText(worst.marginV)}`;
    return [
      `${channel} ${expected}: ${measuredText(worst.volts, worst)}, ${side} ${limitText(worst.limitV)} V, ${room}, step ${worst.step + 1}, of ${count}`,
    ];
  });
}

function missLines({ steps, mode }: AcceptanceRecord): string[] {
  // A soak cycles steps of its own; those of the proof are another run's.
  if (mode === "soak") return [];
  const missed = steps.filter(({ result }) => result !== "pass" && result !== "not tested");
  const untested = steps.filter(({ result }) => result === "not tested").length;
  return [
    ...missed
      .slice(0, MISSES_MAX)
      .flatMap(({ step, name, result, readings }) => [
        `${step + 1} ${name}: ${result}`,
        ...readings
          .filter((reading) => reading.result !== "pass")
          .map(
            ({ channel, volts, expected, reason }) =>
              `- ${channel} ${volts === null ? "no reading" : voltsText(volts)}, expected ${expected}: ${reason}`,
          ),
      ]),
    ...(missed.length > MISSES_MAX ? [`and ${missed.length - MISSES_MAX} more`] : []),
    ...(untested > 0 ? [`${untested} steps were not tested`] : []),
  ];
}

function warmLines({ warmUp }: AcceptanceRecord): string[] {
  const { warm, tookMs, nets, cold, heatersTakenOverMs } = warmUp;
  const took = tookMs === null ? "" : ` after ${seconds(tookMs)}`;
  return [
    ...(heatersTakenOverMs === undefined
      ? []
      : [`heaters were taken over warm, on for ${seconds(heatersTakenOverMs)} already`]),
    warm ? `every section warm${took}` : `not warm${took}`,
    ...nets.flatMap(({ net, validByMs, steadyByMs }) =>
      validByMs === null
        ? []
        : [
            `${net}: valid by ${seconds(validByMs)}${steadyByMs === null ? "" : `, steady by ${seconds(steadyByMs)}`}`,
          ],
    ),
    ...cold.map(
      ({ net, volts }) => `${net}: cold, ${volts === null ? "no reading" : voltsText(volts)}`,
    ),
  ];
}

export function railLines({ rails }: AcceptanceRecord): string[] {
  return rails.map(({ rail, nominalV, lowV, highV, sourceV, boardV, fall, fallV }) => {
    const at = (volts: number | null) => (volts === null ? "not read" : voltsText(volts));
    const left = fallV === null ? "" : ` to ${voltsText(fallV)}`;
    return `${rail} ${nominalV} V (${lowV} to ${highV}): source ${at(sourceV)}, board ${at(boardV)}; ${FALL_WORDS[fall]}${left}`;
  });
}

function unitLines({ unitSheet }: AcceptanceRecord): string[] {
  if (unitSheet === undefined) return [];
  return [
    ...unitSheet.tubes.map(
      ({ position, tube, serial }) => `${position}: ${tube}, ${serial ?? "not marked"}`,
    ),
    ...unitSheet.coldChecks.map(
      ({ check, value, by }) =>
        `cold, ${check}: ${value ?? "LEFT BLANK"}${by === null ? "" : `, ${by}`}`,
    ),
  ];
}

function sourceLines({ files, journal, program }: AcceptanceRecord): string[] {
  return [
    `run by ${program}`,
    ...files.map(({ role, name, sha256 }) => `${role} ${name} ${sha256.slice(0, HASH_DIGITS)}`),
    `journal of ${journal.lines} lines, last hash ${journal.lastHash.slice(0, HASH_DIGITS)}`,
  ];
}

/** The stage that drives a net, in words; null when none does. */
export function stageText(net: string, stages: readonly PlannedStage[]): string | null {
  const stage = stages.find(({ output }) => output === net);
  if (stage === undefined) return null;
  const { stage: name, type, inputs } = stage;
  return `${name}: ${type}${inPlace(stage)}, takes ${inputs.join(", ")}, drives ${net}`;
}
