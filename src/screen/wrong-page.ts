/** One wrong cycle with what was around it: the cycles before and after, rails, temperature, what else moved. */
import type { CycleVolts } from "../events/soak.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import type { KeptError, SoakSnapshot } from "../journal/soak-snapshot.ts";
import { voltsText } from "../measure/volts-text.ts";
import { classOf } from "../verdict/level-class.ts";
import { durationText } from "./duration-text.ts";
import type { PanelOptions } from "./panel.ts";
import {
  cleanText,
  cutLine,
  padStartText,
  padText,
  span,
  type TextLine,
  wrapWords,
} from "./text-line.ts";
import type { ViewState } from "./view-state.ts";
import { whenText } from "./wall-text.ts";

const CYCLE_COLUMNS = 12;
const VOLTS_COLUMNS = 8;
/** Rows of words above and below the table, at most. */
const WORD_ROWS = 4;

type Room = PanelOptions & { readonly rows: number; readonly view: ViewState };

/** The error that is looked at: the chosen one, else the first. */
function lookedAt({ errors }: SoakSnapshot, chosen: number | null): KeptError | undefined {
  return errors.find(({ event }) => event.error === chosen) ?? errors[0];
}

export function wrongPage(snapshot: RunSnapshot, options: Room): TextLine[] {
  const { soak } = snapshot;
  const { rows, columns, glyphs, view } = options;
  const one = soak === undefined ? undefined : lookedAt(soak, view.wrongChosen);
  if (soak === undefined || one === undefined || rows < 2) return [];
  const words = wordsOf(one, soak, snapshot)
    .flatMap((text) => wrapWords(text, columns))
    .map((text): TextLine => [span(text)]);
  const table = tableOf(one, snapshot, { ...options, rows: Math.max(3, rows - 1 - words.length) });
  const title: TextLine = [span(titleText(one, soak, snapshot), "warning")];
  return [title, ...words, ...table]
    .map((line) => line.map((part) => ({ ...part, text: cleanText(part.text, options.ascii) })))
    .map((line) => cutLine(line, columns, glyphs.cut))
    .slice(0, rows);
}

function titleText({ event }: KeptError, soak: SoakSnapshot, snapshot: RunSnapshot): string {
  const at = `${whenText(event.wall, snapshot)}:${event.wall.slice(17, 19)}`;
  const keys = soak.errors.length > 1 ? "left, right: others; v: back" : "v: back";
  return `Wrong cycle ${event.error} of ${soak.counts.wrong || soak.kept}, at ${at}   (${keys})`;
}

function wordsOf({ event }: KeptError, soak: SoakSnapshot, { plan }: RunSnapshot): string[] {
  const { cycle, step, readings, onMs, rails, celsius, referenceV, repeats, moved } = event;
  const name = soak.order.cycle[step]?.name ?? `step ${step + 1}`;
  const off = readings
    .filter(({ result }) => result === "fail" || result === "void")
    .map(({ channel, volts, expected, reason }) => {
      const read = volts === null ? "no reading" : voltsText(volts);
      return `${channel} ${read}, expected ${expected} (${reason})`;
    });
  const kind = soak.kinds.find(
    (one) =>
      one.step === step &&
      one.net === (readings.find((r) => r.result === "fail")?.channel ?? "bench"),
  );
  const seen = kind === undefined ? "" : `; ${kind.class}, ${timesText(kind.times)} in all`;
  const railTexts = (plan?.rails ?? []).flatMap(({ rail, boardChannel }) => {
    const volts = rails.find(({ channel }) => channel === boardChannel)?.volts ?? null;
    return volts === null ? [] : [`${rail} ${voltsText(volts)}`];
  });
  return [
    `Cycle ${cycle}, in "${name}": ${off.join("; ")}${seen}.`,
    `Then: ${[
      ...railTexts,
      celsius === null ? "temperature not measured" : `${celsius.toFixed(1)} degC`,
      ...(referenceV === null ? [] : [`reference ${referenceV.toFixed(3)} V`]),
      `${durationText(onMs)} after plate on`,
    ].join(", ")}.`,
    `Just before: ${moved.length === 0 ? "no line moved" : `${moved.join(", ")} moved`}; ${
      repeats === 0
        ? "nothing asked again on the link"
        : `${repeats} exchanges asked again on the link`
    }.`,
  ].slice(0, WORD_ROWS);
}

function timesText(times: number): string {
  return times === 1 ? "once" : `${times} times`;
}

/** Cycles downwards, nets of the steps across; what was not as expected bears a sign. */
function tableOf(
  { event, after }: KeptError,
  { soak, plan }: RunSnapshot,
  { rows, columns, glyphs }: Room,
): TextLine[] {
  const cycle = soak?.order.cycle ?? [];
  const fits = Math.max(1, Math.floor((columns - CYCLE_COLUMNS) / VOLTS_COLUMNS));
  const cells = cycle.flatMap(({ name, expect }, step) =>
    Object.entries(expect).map(([net, expected], at) => ({ step, name, net, expected, at })),
  );
  const own = cells.findIndex(({ step }) => step === event.step);
  const from = Math.max(0, Math.min(own, cells.length - fits));
  const shown = cells.slice(from, from + fits);
  const heads: TextLine[] = [
    [
      span(padText("", CYCLE_COLUMNS, ""), "faint"),
      ...shown.map(({ name, step, at }, index) =>
        span(
          index === 0 || shown[index - 1]?.step !== step
            ? padText(` ${name}`, VOLTS_COLUMNS * cellsOf(shown, step), glyphs.cut)
            : "",
          step === event.step && at >= 0 ? "strong" : "faint",
        ),
      ),
    ],
    [
      span(padText("  cycle", CYCLE_COLUMNS, ""), "faint"),
      ...shown.map(({ net }) => span(padStartText(net, VOLTS_COLUMNS, glyphs.cut), "faint")),
    ],
  ];
  const room = rows - heads.length - 1;
  const each = Math.max(0, Math.floor(room / 2));
  const before = each === 0 ? [] : event.before.slice(-each);
  const later = (after ?? []).slice(0, Math.max(0, room - before.length));
  const row = (one: CycleVolts): TextLine => {
    const by = one.cycle - event.cycle;
    const label = by === 0 ? "wrong" : `${by > 0 ? "+" : ""}${by}`;
    return [
      span(
        padText(`${padStartText(label, 5, "")} ${one.cycle}`, CYCLE_COLUMNS, glyphs.cut),
        by === 0 ? "bad" : "faint",
      ),
      ...shown.map(({ step, at, expected }) => {
        const volts = one.volts[step]?.[at] ?? null;
        if (volts === null) return span(padStartText("-", VOLTS_COLUMNS, ""), "faint");
        const isOff = plan !== null && classOf(volts, plan.contract) !== expected;
        const sign = isOff ? glyphs.bad : "";
        return span(
          padStartText(`${sign}${volts.toFixed(2)}`, VOLTS_COLUMNS, glyphs.cut),
          isOff ? "bad" : "plain",
        );
      }),
    ];
  };
  const waits: TextLine[] =
    after === null ? [[span("the cycles after it are still to come", "faint")]] : [];
  return [...heads, ...before.map(row), row(event.own), ...later.map(row), ...waits];
}

function cellsOf(shown: readonly { readonly step: number }[], step: number): number {
  return shown.filter((one) => one.step === step).length;
}
