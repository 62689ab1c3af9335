/** The tables of a page: worst cases, holds, every reading, warm-up, rails. */
import type { LevelClass } from "../../events/levels.ts";
import {
  limitText,
  measuredText,
  uncertaintyText,
  voltsText,
  windowText,
} from "../../measure/volts-text.ts";
import type { AcceptanceRecord, ResultTotal, StepRecord } from "../acceptance-record.ts";
import { FALL_WORDS, seconds } from "../record-words.ts";
import { CHANCE_MIN, chanceText } from "../uncertainty-lines.ts";
import { type Html, paragraph, raw, table } from "./html.ts";
import { resultWords } from "./result-words.ts";

/** About a megabyte of page; what is beyond it stands in journal and readings alone. */
const READINGS_MAX = 2500;
const NONE = "–";

const bare = (volts: number | null) =>
  volts === null ? NONE : voltsText(volts).replace(/ V$/, "");

export function worstTable({ results, rule, steps }: AcceptanceRecord): Html {
  return table({
    caption: "Worst case of every net and line, volts",
    columns: [
      { title: "Net or line" },
      { title: "Expected" },
      { title: "Read, ±U", isNumber: true },
      { title: "Limit", isNumber: true },
      { title: "Room", isNumber: true },
      { title: "Room in U", isNumber: true },
      { title: "In step" },
      { title: "Results" },
      { title: "Chance beyond limit", isNumber: true },
    ],
    rows: inOrder(results).map((total) => {
      const { channel, kind, expected, worst } = total;
      const risk = rule.risks?.find((one) => one.channel === channel && one.expected === expected);
      const name = kind === "net" ? channel : `${channel} (driven)`;
      const chance = risk === undefined ? NONE : chanceFigure(risk.chance);
      if (worst === null) {
        return [name, expected, "no reading", NONE, NONE, NONE, NONE, resultWords(total), chance];
      }
      const { volts, limitV, marginV, expandedV, step } = worst;
      return [
        name,
        expected,
        measuredText(volts, worst).replace(/ V$/, ""),
        `${expected === "high" ? "≥" : "≤"} ${limitText(limitV)}`,
        bare(marginV),
        expandedV === undefined || expandedV === 0 ? NONE : (marginV / expandedV).toFixed(1),
        stepName(steps, step),
        resultWords(total),
        chance,
      ];
    }),
    marked: (row) => /failed|void/.test(row[7] ?? ""),
  });
}

/** As a cell has room for it. */
function chanceFigure(chance: number): string {
  return chance < CHANCE_MIN ? `< ${(100 * CHANCE_MIN).toFixed(4)} %` : chanceText(chance);
}

const CLASS_ORDER: readonly LevelClass[] = ["low", "between", "high"];

/** Nets before driven lines, each with its classes side by side. */
function inOrder(results: readonly ResultTotal[]): ResultTotal[] {
  const channels = [...new Set(results.map(({ channel }) => channel))];
  const place = ({ kind, channel }: ResultTotal) =>
    (kind === "net" ? 0 : channels.length) + channels.indexOf(channel);
  return [...results].sort(
    (one, other) =>
      place(one) - place(other) ||
      CLASS_ORDER.indexOf(one.expected) - CLASS_ORDER.indexOf(other.expected),
  );
}

function stepName(steps: readonly StepRecord[], step: number): string {
  const name = steps[step]?.name;
  return name === undefined ? `${step + 1}` : `${step + 1} ${name}`;
}

export function holdTable({ holds }: AcceptanceRecord): Html {
  return table({
    caption: "Holds: entered, released, then watched",
    columns: [
      { title: "Hold" },
      { title: "Result" },
      { title: "Held", isNumber: true },
      { title: "Required", isNumber: true },
      { title: "Watched" },
      { title: "Not watched" },
    ],
    rows: holds.map(({ name, part, result, heldMs, requiredMs, watched, notWatched }) => [
      `${name}, ${part}`,
      result,
      seconds(heldMs),
      seconds(requiredMs),
      watched,
      notWatched,
    ]),
    marked: (row) => row[1] !== "pass" && row[1] !== "conditional pass",
  });
}

interface StepReading {
  readonly step: StepRecord;
  /** Null for a step without one. */
  readonly reading: StepRecord["readings"][number] | null;
}

/** Every reading that was written one by one; where there are too many, those that missed first. */
export function readingTable({ steps }: AcceptanceRecord): Html {
  const all = steps.flatMap((step): StepReading[] =>
    step.readings.length === 0
      ? [{ step, reading: null }]
      : step.readings.map((reading) => ({ step, reading })),
  );
  const isPass = ({ reading }: StepReading) => reading?.result === "pass";
  const shown =
    all.length <= READINGS_MAX
      ? all
      : [...all.filter((one) => !isPass(one)), ...all.filter(isPass)].slice(0, READINGS_MAX);
  const told = table({
    caption: "Every step and reading",
    columns: [
      { title: "Step" },
      { title: "Part" },
      { title: "Net or line" },
      { title: "Expected" },
      { title: "Read, V", isNumber: true },
      { title: "Class" },
      { title: "Result" },
      { title: "Limit, V", isNumber: true },
      { title: "Room, V", isNumber: true },
      { title: "Why" },
    ],
    rows: shown.map(({ step, reading }) => {
      const name = `${step.step + 1} ${step.name}`;
      if (reading === null) {
        return [name, step.kind, NONE, NONE, NONE, NONE, step.result, NONE, NONE, ""];
      }
      const { part, channel, expected, volts, result, limitV, marginV, reason } = reading;
      const limit = limitV === null ? NONE : limitText(limitV);
      const found = [expected, bare(volts), reading.class ?? NONE, result, limit, bare(marginV)];
      return [name, part, channel, ...found, reason];
    }),
    marked: (row) => row[6] === "fail" || row[6] === "void" || row[6] === "conditional fail",
  });
  const left = all.length - shown.length;
  if (left === 0) return told;
  const note = `${left} of ${all.length} readings are left out of this table, all of them passed; the journal beside this page has them, and the readings can be written out as CSV.`;
  return raw(`${paragraph(note, "note").html}\n${told.html}`);
}

export function warmTable({ warmUp }: AcceptanceRecord): Html {
  const { nets, cold } = warmUp;
  return table({
    caption: "Warm-up by net, from heaters on",
    columns: [
      { title: "Net" },
      { title: "Valid by", isNumber: true },
      { title: "Steady by", isNumber: true },
      { title: "Cold at the end" },
    ],
    rows: nets.map(({ net, validByMs, steadyByMs }) => {
      const still = cold.find((one) => one.net === net);
      const read =
        still === undefined ? "" : still.volts === null ? "no reading" : voltsText(still.volts);
      return [
        net,
        validByMs === null ? NONE : seconds(validByMs),
        steadyByMs === null ? NONE : seconds(steadyByMs),
        read,
      ];
    }),
    marked: (row) => row[3] !== "",
  });
}

export function railTable({ rails }: AcceptanceRecord): Html {
  return table({
    caption: "Rails: at their source, at the board, and how they are known to be off",
    columns: [
      { title: "Rail" },
      { title: "Nominal, V", isNumber: true },
      { title: "Window" },
      { title: "Ceiling, V", isNumber: true },
      { title: "Source, V", isNumber: true },
      { title: "Board, V", isNumber: true },
      { title: "Rise", isNumber: true },
      { title: "Off" },
      { title: "Fell to, V", isNumber: true },
      { title: "In", isNumber: true },
    ],
    rows: rails.map((one) => [
      one.rail,
      limitText(one.nominalV),
      windowText(one),
      limitText(one.ceilingV),
      bare(one.sourceV),
      bare(one.boardV),
      one.riseMs === null ? NONE : seconds(one.riseMs),
      FALL_WORDS[one.fall],
      bare(one.fallV),
      one.fallMs === null ? NONE : seconds(one.fallMs),
    ]),
    marked: (row) => /NOT PROVED/.test(row[7] ?? ""),
  });
}

/** What each U is made of, one row a term. */
export function budgetTable({ rule }: AcceptanceRecord): Html {
  const { budgets = [] } = rule;
  return table({
    caption: "Uncertainty budgets: first reading of each net in each class",
    columns: [
      { title: "Net" },
      { title: "Read, ±U for 95 %" },
      { title: "Term" },
      { title: "Shape" },
      { title: "u, V", isNumber: true },
      { title: "From" },
    ],
    rows: budgets.flatMap(({ channel, class: found, volts, expandedV, k, terms }) =>
      terms.map(({ name, shape, u, basis }, at) => [
        `${channel} ${found}`,
        at === 0 ? `${measuredText(volts, { expandedV })}, k ${k.toFixed(2)}` : "",
        name,
        shape,
        uncertaintyText(u),
        basis,
      ]),
    ),
  });
}
