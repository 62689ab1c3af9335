/** The charts of a page, each with what it shows in words. */
import type { AcceptanceRecord } from "../acceptance-record.ts";
import { figure, type Html, paragraph, type Section } from "./html.ts";
import { levelPlot } from "./level-plot.ts";
import type { PageFacts } from "./page-facts.ts";
import { powerChart } from "./power-chart.ts";
import { holdTable, railTable, warmTable, worstTable } from "./result-tables.ts";
import { timingChart } from "./timing-chart.ts";
import { warmUpChart } from "./warm-up-chart.ts";

export function chartSections(record: AcceptanceRecord, facts: PageFacts): Section[] {
  return [
    {
      id: "levels",
      title: "Levels against the contract",
      parts: [...levelParts(record, facts), worstTable(record)],
    },
    {
      id: "steps",
      title: "Steps, expected against measured",
      parts: [...timingParts(record, facts), holdTable(record)],
    },
    {
      id: "warming",
      title: "Warm-up",
      parts: [...warmParts(record, facts), warmTable(record)],
    },
    {
      id: "rails",
      title: "Rails over the whole run",
      parts: [...powerParts(record, facts), railTable(record)],
    },
  ];
}

function levelParts(record: AcceptanceRecord, { levels }: PageFacts): Html[] {
  const plot = levelPlot(record, levels);
  if (plot === null) return [];
  return [
    figure(plot.svg, {
      label: "Chart of levels",
      caption:
        "Grey bars: all that was read. Triangles: worst case, pointing down where low was expected and up where high was; a cross where a result was not a pass. " +
        "Whiskers: ± the expanded uncertainty U for 95 %, where it is evaluated. Hatched: where a sender may stand; dotted: where a receiver can tell nothing." +
        leftOut(plot.rowsLeftOut, "nets stand in the table alone"),
    }),
  ];
}

function timingParts(record: AcceptanceRecord, { plan }: PageFacts): Html[] {
  const chart = timingChart(record, plan);
  if (chart === null) return [];
  return [
    figure(chart.svg, {
      label: "Timing diagram of the steps",
      caption:
        "Up is high, down is low, half way is between, a gap is not asked or not read. Broad grey: expected. Thin black: measured. Dashed: driven lines. Dotted columns: holds, first the state held, then the opposite one. " +
        "A cross: not as expected. Figures above are step numbers; steps are drawn equally wide, however long they were." +
        leftOut(chart.columnsLeftOut, "columns are not drawn; the table of readings has them"),
    }),
  ];
}

function warmParts(record: AcceptanceRecord, { warm }: PageFacts): Html[] {
  const chart = warmUpChart(record, warm);
  if (chart === null) return [];
  const more = warm.more === 0 ? "" : ` ${warm.more} later warm-ups of this run are not drawn.`;
  return [
    figure(chart.svg, {
      label: "Chart of warm-up",
      caption: `Each look at a net, a dot, from heaters on; nets are driven high and low in turn. Hatched: where a sender may stand; dotted: where a receiver can tell nothing.${leftOut(chart.netsLeftOut, "nets stand in the table alone")}${more}`,
    }),
  ];
}

function powerParts(record: AcceptanceRecord, { power }: PageFacts): Html[] {
  const svg = powerChart(record, power);
  if (svg === null) return [];
  const marks = power.rails.reduce((sum, one) => sum + one.marksLeftOut, 0);
  return [
    figure(svg, {
      label: "Chart of the rails over time",
      caption:
        "Solid: at the board. Dashed: at the source. Hatched: the window a rail must keep. Below each rail, a triangle up: switched on; a diamond: its gate opened; a triangle down: switched off; a square: its fall proved; a cross: a gate that stayed shut or a fall that was not proved. Crosshatched over all rails: nothing was sealed although rails were up." +
        leftOut(marks, "marks are not drawn") +
        leftOut(power.phasesLeftOut, "phases are not named"),
    }),
    ...decimated(power.rails.map(({ board }) => board.widthMs)),
  ];
}

/** Curves that were thinned say by how much. */
function decimated(widthsMs: readonly number[]): Html[] {
  const widest = Math.max(...widthsMs);
  if (widest < 1000) return [];
  return [
    paragraph(
      `Of each ${Math.round(widest / 1000)} s the lowest and the highest reading are drawn; the journal has them all.`,
      "note",
    ),
  ];
}

function leftOut(count: number, words: string): string {
  return count === 0 ? "" : ` ${count} more ${words}.`;
}
