/** What the signs and keys mean. */
import type { RunSnapshot } from "../journal/snapshot.ts";
import { contractText } from "./levels-panel.ts";
import type { PanelOptions } from "./panel.ts";
import type { Seat } from "./seat.ts";
import { TALL_WORD_HEIGHTS } from "./tall-letters.ts";
import { BLANK_LINE, cleanText, cutLine, span, type TextLine } from "./text-line.ts";

const BELL_KEYS = "  m ?           m: bell off, on; ?: this page, back";
/** One row, as the page fills a small screen. */
const ATTACHED_KEYS =
  "  x m ?         x: leave, the run goes on; m: bell off, on; ?: this page, back";

const LOOKING_KEYS = [
  "  u d b e       log a page up, down, to oldest, newest; or PgUp PgDn Home End",
  "  t w v         t: scroll steps; w: log uncut; v: in a soak, wrong cycles; back",
  BELL_KEYS,
];

const OWN_KEYS = [
  "  s, q, Ctrl-C  stop: plate, bias, heaters come down in order, each proved off",
  ...LOOKING_KEYS,
  "  in hand mode  1-9 move a line; arrows choose, space moves, p pulses; l ends",
  "  frozen        r repeats the step; o loops it with the marked one; l ends",
  "  standby       n starts the next run on warm heaters; l ends, all power off",
];

/** A viewer of another program's run has none that touch it. */
const LOOKING_ON_KEYS = [
  "  q, Ctrl-C     leave; the run goes on, and is stopped where it was started",
  ...LOOKING_KEYS,
];

const KEYS: Readonly<Record<Seat, readonly string[]>> = {
  own: OWN_KEYS,
  attached: OWN_KEYS.map((row) => (row === BELL_KEYS ? ATTACHED_KEYS : row)),
  "looking on": LOOKING_ON_KEYS,
};

export function helpPanel(
  snapshot: RunSnapshot,
  options: PanelOptions & { readonly seat: Seat },
): TextLine[] {
  const { glyphs, columns, ascii } = options;
  const contract = contractText(snapshot);
  const rows = [
    "Keys",
    ...KEYS[options.seat],
    "Signs",
    `  ${glyphs.good} as expected   ${glyphs.bad} not as expected   ${glyphs.unsure} void, no ground to judge`,
    `  ${glyphs.running} running       ${glyphs.waiting} waiting           ${glyphs.skipped} not tested`,
    contract === "" ? "Levels" : `Levels: ${contract}`,
    `  ${glyphs.reading} reading  ${glyphs.limit} limit  ${glyphs.wanted.repeat(3)} where it must lie  ${glyphs.short.repeat(3)} margin short  ${glyphs.between.repeat(3)} between`,
    "  A stage's low is good at or below VOL, its high at or above VOH.",
    "  A receiver still takes up to VIL for low and from VIH for high;",
    "  in between it may take either. Driven lines are held to VIL and VIH.",
    `The tall word reads at 2 m: ${TALL_WORD_HEIGHTS}.`,
  ];
  return rows.map((row) =>
    row === "" ? BLANK_LINE : cutLine([span(cleanText(row, ascii))], columns, glyphs.cut),
  );
}
