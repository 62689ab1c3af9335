/** A soak at a glance: what is counted, what went wrong and when, what moves, how long it has been on. */
import { driftSoFar } from "../journal/drift-so-far.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import type { ErrorKind, SoakSnapshot } from "../journal/soak-snapshot.ts";
import { bottle } from "../verdict/drift/drift-words.ts";
import { durationText } from "./duration-text.ts";
import type { PanelOptions } from "./panel.ts";
import { driftClaim, driftSure, hoursOn, seenFrom } from "./soak-words.ts";
import { cleanText, cutLine, padText, span, type TextLine, wrapWords } from "./text-line.ts";
import { whenText } from "./wall-text.ts";

const NAME_COLUMNS = 8;
const INDENT = "  ";
/** Title, cycles, wrong, drift, on: what stays when there is little room. */
const ROWS_BESIDE_KINDS = 6;

type Room = PanelOptions & { readonly rows: number };

export function soakPanel(snapshot: RunSnapshot, options: Room): TextLine[] {
  const { soak } = snapshot;
  if (soak === undefined || options.rows < 1) return [];
  const { glyphs, columns, rows, ascii } = options;
  const row = (name: string, ...rest: TextLine): TextLine => [
    span(padText(name, NAME_COLUMNS, glyphs.cut), "faint"),
    ...rest,
  ];
  const drift = driftRows(snapshot, columns);
  const lines: TextLine[] = [
    [span("Soak", "faint")],
    row("cycles", span(cyclesOfText(soak), "strong")),
    row("wrong", ...wrongSpans(soak)),
    ...kindLines(snapshot, soak, Math.max(1, rows - ROWS_BESIDE_KINDS - drift.length + 1)),
    row("drift", ...(drift[0] ?? [])),
    ...drift.slice(1),
    row("on", span(onText(soak))),
    row("sets", span(setsText(soak, snapshot.ms))),
  ];
  return lines
    .slice(0, rows)
    .map((line) => line.map((one) => ({ ...one, text: cleanText(one.text, ascii) })))
    .map((line) => cutLine(line, columns, glyphs.cut));
}

function cyclesOfText({ order, counts }: SoakSnapshot): string {
  const of = order.cycles === null ? "" : ` of ${order.cycles}`;
  return `${counts.cycles}${of}`;
}

function wrongSpans({ counts }: SoakSnapshot): TextLine {
  const { cycles, wrong, unjudged } = counts;
  const more = unjudged === 0 ? "" : `, ${unjudged} not judged`;
  const none = cycles === 0 ? span("nothing counted yet") : span("none", "good");
  return [wrong === 0 ? none : span(String(wrong), "bad"), span(more, "warning")];
}

/** The most frequent kinds; what has no room is counted. */
function kindLines(snapshot: RunSnapshot, soak: SoakSnapshot, rows: number): TextLine[] {
  const sorted = [...soak.kinds].sort((one, other) => other.cycles - one.cycles);
  if (sorted.length <= rows) return sorted.map((kind) => kindLine(kind, soak, snapshot));
  const shown = sorted.slice(0, rows - 1);
  const rest = sorted.length - shown.length;
  return [
    ...shown.map((kind) => kindLine(kind, soak, snapshot)),
    [span(`${INDENT}and ${rest} more ${rest === 1 ? "kind" : "kinds"}`, "bad")],
  ];
}

/** `03:12 transient, Q in "set held"`, by the wall clock: a person in the morning asks when. */
function kindLine(kind: ErrorKind, { order }: SoakSnapshot, snapshot: RunSnapshot): TextLine {
  const { net, step, class: how, first, last, times } = kind;
  const name = order.cycle[step]?.name ?? `step ${step + 1}`;
  const until = times > 1 ? ` to ${whenText(last.wall, snapshot)}` : "";
  const often = times > 1 ? ` ${times} times` : "";
  return [
    span(`${INDENT}${whenText(first.wall, snapshot)}${until} `, "strong"),
    span(`${how}${often}, ${net} in "${name}"`, "bad"),
  ];
}

/** The first row stands beside its name, the others below it. */
function driftRows(snapshot: RunSnapshot, columns: number): TextLine[] {
  const report = driftSoFar(snapshot);
  if (report === null || (!report.judged && report.findings.length === 0))
    return [[span("needs 24 sets over 4 h on", "faint")]];
  const found = report.findings[0];
  if (found === undefined) {
    const least = seenFrom(report);
    const shown = least === null ? "" : `; ${least} would show`;
    return [[span("none", "good"), span(shown)]];
  }
  const more = report.findings.length === 1 ? "" : `, and ${report.findings.length - 1} more`;
  const below = [`${driftSure(found)}${more}`, `next: swap ${bottle(found, report)}, soak again`];
  const claim = wrapWords(driftClaim(found), Math.max(1, columns - NAME_COLUMNS));
  return [
    ...claim.map(
      (text, at): TextLine => [
        span(at === 0 ? text : `${" ".repeat(NAME_COLUMNS)}${text}`, "warning"),
      ],
    ),
    ...below.flatMap((text) =>
      wrapWords(text, Math.max(1, columns - INDENT.length)).map(
        (words): TextLine => [span(`${INDENT}${words}`, "warning")],
      ),
    ),
  ];
}

function onText(soak: SoakSnapshot): string {
  const { counts, legs } = soak;
  const power = counts.powerCycles === 1 ? "once" : `${counts.powerCycles} times`;
  const gaps = legs.filter(({ why }) => why !== "first" && why !== "power cycle").length;
  const gone = gaps === 0 ? "" : `, ${gaps} ${gaps === 1 ? "gap" : "gaps"}`;
  return counts.powerCycles === 0 ? "not yet" : `${hoursOn(soak)}${gone}, powered ${power}`;
}

function setsText({ sets, newestSet }: SoakSnapshot, nowMs: number): string {
  if (newestSet === null) return "none yet";
  return `${sets}, newest ${durationText(nowMs - newestSet.ms)} ago`;
}
