/** A soak at a glance: what is counted, what went wrong and when, how long it has been on. */
import type { RunSnapshot } from "../journal/snapshot.ts";
import type { ErrorKind, SoakSnapshot } from "../journal/soak-snapshot.ts";
import { durationText } from "./duration-text.ts";
import type { PanelOptions } from "./panel.ts";
import { cutLine, padText, span, type TextLine } from "./text-line.ts";

const NAME_COLUMNS = 9;

export function soakPanel(
  snapshot: RunSnapshot,
  options: PanelOptions & { readonly rows: number },
): TextLine[] {
  const { soak } = snapshot;
  if (soak === undefined || options.rows < 1) return [];
  const { glyphs, columns, rows } = options;
  const row = (name: string, ...rest: TextLine): TextLine => [
    span(padText(name, NAME_COLUMNS, glyphs.cut), "faint"),
    ...rest,
  ];
  const lines: TextLine[] = [
    [span("Soak", "faint")],
    row("cycles", span(cyclesText(soak), "strong")),
    row("wrong", ...wrongSpans(soak)),
    ...soak.kinds.map((kind) => kindLine(kind, soak)),
    row("on", span(onText(soak))),
    row("sets", span(setsText(soak, snapshot.ms))),
  ];
  return lines.slice(0, rows).map((line) => cutLine(line, columns, glyphs.cut));
}

function cyclesText({ order, counts }: SoakSnapshot): string {
  const of = order.cycles === null ? "" : ` of ${order.cycles}`;
  return `${counts.cycles}${of}`;
}

function wrongSpans({ counts }: SoakSnapshot): TextLine {
  const { wrong, unjudged } = counts;
  const more = unjudged === 0 ? "" : `, ${unjudged} not judged`;
  return [wrong === 0 ? span("none", "good") : span(String(wrong), "bad"), span(more, "warning")];
}

/** `03:12  Q in "set held", transient`, by the wall clock: a person in the morning asks when. */
function kindLine(
  { net, step, class: how, first, times }: ErrorKind,
  soak: SoakSnapshot,
): TextLine {
  const name = soak.order.cycle[step]?.name ?? `step ${step + 1}`;
  const often = times > 1 ? ` ${times} times` : "";
  return [
    span(`  ${first.wall.slice(11, 16)} `, "strong"),
    span(`${net} in "${name}", ${how}${often}`, "bad"),
  ];
}

function onText({ counts, legs }: SoakSnapshot): string {
  const power = counts.powerCycles === 1 ? "once" : `${counts.powerCycles} times`;
  const gaps = legs.filter(({ why }) => why !== "first" && why !== "power cycle").length;
  const gone = gaps === 0 ? "" : `, went on after ${gaps} ${gaps === 1 ? "break" : "breaks"}`;
  return `${durationText(counts.boardMs)}, powered ${power}${gone}`;
}

function setsText({ sets, newestSet }: SoakSnapshot, nowMs: number): string {
  if (newestSet === null) return "none yet";
  return `${sets}, newest ${durationText(nowMs - newestSet.ms)} ago`;
}
