/** The screen: as kept, without a leftover line after a resize, seldom enough, cheap enough. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { widthOf } from "../../src/screen/text-line.ts";
import { drawGolden, GOLDEN_SCREENS } from "../screen/golden-screens.tsx";
import { hasTerminals } from "../screen/on-terminal.ts";
import type { FigureContext } from "./figure.ts";
import { measureShare } from "./screen/processor-share.ts";
import { resizedRun } from "./screen/resized-run.ts";

const FRAMES_PER_SECOND_MAX = 10;
const SHARE_PERCENT_MAX = 5;
const LEFTOVERS_SHOWN = 2;
const goldenFolder = join(import.meta.dirname, "../golden/screens");

export async function figure(context: FigureContext): Promise<void> {
  golden(context);
  if (!hasTerminals)
    throw new Error("Expected script (util-linux) on Linux for a terminal, found none.");
  const runs = mkdtempSync(join(tmpdir(), "holdfast-figure-"));
  try {
    const journal = await terminal(context, runs);
    await share(context, journal);
  } finally {
    rmSync(runs, { recursive: true });
  }
}

/** Every golden screen stands as kept, fits its terminal, and is plain ASCII where asked. */
function golden({ report, say }: FigureContext): void {
  const wrong = GOLDEN_SCREENS.filter((one) => {
    const drawn = drawGolden(one);
    const rows = drawn.trimEnd().split("\n");
    const fits =
      rows.length < one.size.rows && rows.every((row) => widthOf(row) <= one.size.columns);
    // Without colour nothing but text may leave the renderer.
    const signs = one.more.ascii === true ? /^[\x20-\x7e\n]+$/ : /^[^\p{Cc}]+$/u;
    const isPlain = rows.every((row) => row === "" || signs.test(row));
    return !fits || !isPlain || readFileSync(join(goldenFolder, one.file), "utf8") !== drawn;
  });
  for (const { file } of wrong) say(`${file} does not match, does not fit or is not plain`);
  report({
    name: `screen golden (${GOLDEN_SCREENS.length} screens)`,
    value: GOLDEN_SCREENS.length - wrong.length,
    unit: "screens as kept",
    limit: `= ${GOLDEN_SCREENS.length}`,
    holds: wrong.length === 0,
  });
}

/** A whole proof on a real pseudo-terminal that is resized all the time. @returns its journal */
async function terminal({ report, say, full }: FigureContext, runs: string): Promise<string> {
  const result = await resizedRun({ runs, pace: full ? 2 : 8 });
  const { leftovers, compared, resizes, exitStatus } = result;
  for (const { size, text } of leftovers.slice(0, LEFTOVERS_SHOWN)) {
    say(`${size.columns} x ${size.rows} showed what the run never was:\n${text}`);
  }
  report({
    name: `screen resized (${resizes} resizes, ${compared} screens compared, exit ${exitStatus})`,
    value: leftovers.length,
    unit: "screens with a leftover or missing line",
    limit: "= 0",
    holds: leftovers.length === 0 && compared >= 20 && exitStatus === 0,
  });
  report({
    name: "screen frames, most in any second, resizes included",
    value: result.framesInASecond,
    unit: "frames/s",
    limit: `<= ${FRAMES_PER_SECOND_MAX}`,
    holds: result.framesInASecond > 0 && result.framesInASecond <= FRAMES_PER_SECOND_MAX,
  });
  return result.journal;
}

/** Drawing alone, driven by the journal of that run, less the same without a screen. */
async function share({ report, say, full }: FigureContext, journal: string): Promise<void> {
  const measured = await measureShare({ journal, forMs: full ? 60_000 : 15_000 });
  say(`screen share: ${JSON.stringify(measured)}`);
  const percent = Math.round(10 * (measured.withScreen - measured.without)) / 10;
  report({
    name: `screen processor share at ${measured.framesPerSecond.toFixed(1)} frames/s, 132 x 43`,
    value: percent,
    unit: "% of one core",
    limit: `<= ${SHARE_PERCENT_MAX}`,
    holds: percent <= SHARE_PERCENT_MAX && measured.framesPerSecond > 3,
  });
}
