/** Rails: on or off, volts, window, and after power-down how the fall is known. */
import type { FallProof } from "../events/events.ts";
import type { PlannedRail } from "../events/plan.ts";
import type { RailSnapshot, RunSnapshot } from "../journal/snapshot.ts";
import { voltsText, windowText } from "../measure/volts-text.ts";
import type { PanelOptions } from "./panel.ts";
import { cutLine, padStartText, padText, span, type TextLine, type Tone } from "./text-line.ts";

const NAME_COLUMNS = 8;
const STATE_COLUMNS = 4;
const VOLTS_COLUMNS = 11;
const WINDOW_COLUMNS = 18;
/** Below this the supply at its source gives way to the volts on the board. */
const SOURCE_COLUMNS = 72;

const FALL_WORDS: Readonly<Record<FallProof, { text: string; tone: Tone }>> = {
  verified: { text: "proved off", tone: "good" },
  unproved: { text: "OFF NOT PROVED", tone: "bad" },
  "lead lost": { text: "LEAD LOST, OFF NOT PROVED", tone: "bad" },
  "never raised": { text: "never raised", tone: "plain" },
  "kept on": { text: "KEPT ON", tone: "warning" },
};

export function railsPanel(snapshot: RunSnapshot, options: PanelOptions): TextLine[] {
  const { glyphs, columns } = options;
  if (snapshot.rails.length === 0) return [];
  const planned = snapshot.plan?.rails ?? [];
  const head = [
    span("  "),
    span(padText("Rail", NAME_COLUMNS + STATE_COLUMNS, glyphs.cut), "faint"),
    span(padStartText("volts", VOLTS_COLUMNS, glyphs.cut), "faint"),
    span(`  ${padText("window", WINDOW_COLUMNS, glyphs.cut)}`, "faint"),
    span("state", "faint"),
  ];
  const rows = snapshot.rails.map((rail) =>
    railRow(
      rail,
      planned.find((one) => one.rail === rail.rail),
      options,
    ),
  );
  return [head, ...rows].map((line) => cutLine(line, columns, glyphs.cut));
}

function railRow(
  rail: RailSnapshot,
  planned: PlannedRail | undefined,
  { glyphs, columns }: PanelOptions,
): TextLine {
  const { text, tone } = railState(rail, planned);
  const sign = tone === "good" ? glyphs.good : tone === "bad" ? glyphs.bad : " ";
  const shownV = rail.fallV ?? rail.boardV;
  const source =
    rail.sourceV === null || columns < SOURCE_COLUMNS ? "" : `  source ${voltsText(rail.sourceV)}`;
  return [
    span(`${sign} `, tone),
    span(padText(rail.rail, NAME_COLUMNS, glyphs.cut)),
    span(padText(rail.on ? "on" : "off", STATE_COLUMNS, glyphs.cut), rail.on ? "strong" : "plain"),
    span(
      padStartText(shownV === null ? "no reading" : voltsText(shownV), VOLTS_COLUMNS, glyphs.cut),
    ),
    span(
      `  ${padText(planned ? windowText(rail.movedWindow ?? planned.window) : "", WINDOW_COLUMNS, glyphs.cut)}`,
    ),
    span(text, tone),
    span(rail.on ? currentText(rail) : ""),
    span(rail.on || rail.fall === null ? source : "", "faint"),
  ];
}

function currentText({ currentA }: RailSnapshot): string {
  if (currentA === undefined) return "";
  return currentA === null ? "  no current read" : `  ${Math.round(currentA * 1000)} mA`;
}

function railState(
  rail: RailSnapshot,
  planned: PlannedRail | undefined,
): { text: string; tone: Tone } {
  if (!rail.on && rail.fall !== null) return FALL_WORDS[rail.fall];
  if (!rail.on) {
    const chargedV = planned?.safeV ?? Number.POSITIVE_INFINITY;
    if (rail.boardV !== null && Math.abs(rail.boardV) > chargedV) {
      return { text: "falling", tone: "warning" };
    }
    return { text: rail.sourceV === null ? "not measured" : "waiting", tone: "plain" };
  }
  if (rail.inWindow === null) return { text: "rising", tone: "plain" };
  return rail.inWindow
    ? { text: "in window", tone: "good" }
    : { text: "OUT OF WINDOW", tone: "bad" };
}
