/** A soak's part of a page: what was counted, what went wrong and when, how levels drifted. */
import type { SoakCounts, SoakOrder } from "../../events/soak.ts";
import { voltsText } from "../../measure/volts-text.ts";
import { duration } from "../../plan/quantity-words.ts";
import type { AcceptanceRecord } from "../acceptance-record.ts";
import { driftLines } from "../soak-lines.ts";
import { driftCharts } from "./drift-charts.ts";
import { errorBars, errorPlot } from "./error-plots.ts";
import {
  figure,
  type Html,
  list,
  pairs,
  paragraph,
  raw,
  type Section,
  table,
  titled,
} from "./html.ts";
import type { DrawnError, SoakFacts } from "./soak-facts.ts";

/** Kinds by far the most frequent first; a board in trouble may have many. */
const KINDS_TOLD_MAX = 60;

export function soakSections(record: AcceptanceRecord, soak: SoakFacts | null): Section[] {
  if (soak === null) return [];
  return [
    {
      id: "soak",
      title: "Soak",
      parts: [
        pairs(orderPairs(soak.order)),
        soak.counts === null ? paragraph("Nothing was counted.") : pairs(countPairs(soak.counts)),
        closings(soak.counts),
        ...titled("What this soak allows to be claimed", soak.claims),
        ...titled("The link to the controller", soak.link),
      ],
    },
    { id: "wrong", title: "Wrong cycles", parts: wrongParts(record, soak) },
    { id: "drift", title: "Drift", parts: driftParts(record, soak) },
  ];
}

function orderPairs({
  cycle,
  forMs,
  cycles,
  everyMs,
  readEveryMs,
  power,
  dwell,
  heaterLow,
  goOn,
  attendance,
}: SoakOrder) {
  const until = [
    ...(forMs === null ? [] : [`${duration(forMs)} of cycling`]),
    ...(cycles === null ? [] : [`${cycles} cycles`]),
  ];
  return [
    ["Asked for", until.join(" or ")],
    [
      "One cycle",
      `${cycle.length} steps${everyMs === 0 ? "" : `, one every ${duration(everyMs)}`}`,
    ],
    ["Full readings", `every ${duration(readEveryMs)}`],
    [
      "Power cycles",
      power === null ? "none" : `${duration(power.onMs)} on, ${duration(power.offMs)} off`,
    ],
    [
      "Standing still",
      dwell === null ? "never" : `${duration(dwell.forMs)} every ${duration(dwell.everyMs)}`,
    ],
    ...(heaterLow === undefined
      ? []
      : [["Heaters low", `${heaterLow.percent} %, at the beginning and the end`] as const]),
    ["May go on after", goOn.length === 0 ? "nothing" : goOn.join(", ")],
    ["Person at the bench", attendance === "attended" ? "yes" : "no, unattended"],
  ] as const;
}

function countPairs(counts: SoakCounts) {
  return [
    ["Cycles judged", String(counts.cycles)],
    [
      "Of these wrong",
      `${counts.wrong}${counts.notKept === 0 ? "" : `, ${counts.notKept} of them counted only`}`,
    ],
    ["Not judged", String(counts.unjudged)],
    ["Cycling, warm", duration(counts.cyclingMs)],
    ["Board on plate", duration(counts.boardMs)],
    ["Heaters on", duration(counts.heaterMs)],
    ["Plate came on", timesText(counts.powerCycles)],
    ["Asked again on the link", timesText(counts.repeats)],
  ] as const;
}

function closings(counts: SoakCounts | null): Html {
  return table({
    caption: "Closings of each relay",
    columns: [{ title: "Relay" }, { title: "Closings", isNumber: true }],
    rows: Object.entries(counts?.closings ?? {}).map(([name, count]) => [name, String(count)]),
  });
}

function wrongParts({ lengthMs, rule }: AcceptanceRecord, soak: SoakFacts): Html[] {
  const bars = errorBars(soak, lengthMs);
  if (bars === null) return [paragraph("No cycle went wrong.")];
  const drawn = soak.errors.map((error) => errorFigure(error, errorPlot(error, rule.contract)));
  return [
    figure(bars, {
      label: "Chart of wrong cycles over time",
      caption: `Wrong cycles that were kept whole, in bars of ${duration(soak.barMs)}. Hours in which nothing was kept have no bar.`,
    }),
    kindTable(soak),
    ...titled("What they have in common", soak.clusters),
    raw("<h3>Wrong cycles and those around them</h3>"),
    paragraph(
      soak.errorsLeftOut === 0
        ? "Each with the cycles around it. Squares are cycles that were right, the cross is the one that was wrong; dotted is where a receiver can tell nothing."
        : `The first ones and the first of each kind, with the cycles around them; ${soak.errorsLeftOut} more stand in the journal. Squares are cycles that were right, the cross is the one that was wrong; dotted is where a receiver can tell nothing.`,
    ),
    raw(`<div class="errors">\n${drawn.map(({ html }) => html).join("\n")}\n</div>`),
  ];
}

/** As the trade classes errors: transient, intermittent, steady. */
function kindTable({ kinds, order }: SoakFacts): Html {
  return table({
    caption: "Kinds of error, by step and by the net that was first off",
    columns: [
      { title: "Net" },
      { title: "Step" },
      { title: "Class" },
      { title: "Wrong cycles", isNumber: true },
      { title: "Times", isNumber: true },
      { title: "Longest on end", isNumber: true },
      { title: "First" },
      { title: "Last" },
    ],
    rows: [...kinds]
      .sort((one, other) => other.cycles - one.cycles)
      .slice(0, KINDS_TOLD_MAX)
      .map((one) => [
        one.net,
        order.cycle[one.step]?.name ?? `${one.step + 1}`,
        one.class,
        String(one.cycles),
        String(one.times),
        String(one.longest),
        `cycle ${one.first.cycle}, ${one.first.wall}`,
        `cycle ${one.last.cycle}, ${one.last.wall}`,
      ]),
    marked: (row) => row[2] === "steady",
  });
}

function errorFigure(error: DrawnError, svg: string | null): Html {
  const { off, cycle, wall, onMs, stepName, others, repeats, moved } = error;
  const read = off.volts === null ? `no reading (${off.noReading})` : voltsText(off.volts);
  const caption = [
    `Cycle ${cycle}, ${wall}, ${duration(onMs)} after plate came on, step "${stepName}": ${off.channel} ${read}, expected ${off.expected}`,
    ...(others === 0 ? [] : [`${others} more readings of that step were off`]),
    ...(moved.length === 0 ? [] : [`moved just before: ${moved.join(", ")}`]),
    ...(repeats === 0 ? [] : [`asked again on the link ${repeats} times`]),
  ].join("; ");
  return svg === null
    ? paragraph(caption)
    : figure(svg, { label: `Chart of cycle ${cycle}`, caption });
}

function driftParts({ lengthMs, rule, soak: told }: AcceptanceRecord, soak: SoakFacts): Html[] {
  const charts = driftCharts(soak.drifts, { contract: rule.contract, lengthMs });
  const said = told === undefined ? [] : [list(driftLines(told))];
  if (charts.length === 0) return said;
  return [
    ...said,
    paragraph(
      "Levels at each full set of readings, in the run of the cycles. The dashed line is the limit, dotted is beyond it. Where several sets fall into one column of the chart, the line goes from the lowest to the highest of them.",
    ),
    ...charts.map((svg, at) =>
      figure(svg, { label: `Drift chart ${at + 1}`, caption: driftCaption(soak, at) }),
    ),
    list(
      soak.driftsLeftOut === 0
        ? []
        : [
            `${soak.driftsLeftOut} more levels have no chart here; the readings written out as CSV have them.`,
          ],
    ),
  ];
}

function driftCaption({ drifts }: SoakFacts, at: number): string {
  const drift = drifts.filter(({ series }) => series.count > 1)[at];
  if (drift === undefined) return "";
  const u = drift.expandedV === null ? "U not evaluated" : `U ${voltsText(drift.expandedV)}`;
  return `${drift.net} ${drift.expected}, ${drift.series.count} readings, ${u}.`;
}

function timesText(count: number): string {
  if (count === 0) return "never";
  return count === 1 ? "once" : `${count} times`;
}
