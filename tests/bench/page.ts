/**
 * Pages in a real browser: a board that passes, one that fails, a soak, a run that was cut off, and one
 * whose every name is hostile. No network, nothing on the console, no violation of axe-core's rules, the
 * same without scripts, nothing cut off on screens from 320 pixels on nor on A4 and Letter.
 */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { RunEvent } from "../../src/events/events.ts";
import { closed, healthyEvents, healthyUpTo, judgedNet, powerDown } from "../journal/latch-run.ts";
import { soakEvents } from "../journal/soak-events.ts";
import { pageOf, pageOfTimed } from "../record/page/page-of.ts";
import type { FigureContext } from "./figure.ts";
import { openBrowser } from "./page/browser.ts";
import { lookAt } from "./page/look-at.ts";

const HOSTILE = `"><script>document.title="x"</script><img src=x onerror=alert(1)>${"W".repeat(90)}`;
const CONTRAST_MIN = 4.5;

const failing: readonly RunEvent[] = [
  ...healthyUpTo((event) => event.kind === "step-begun" && event.step === 0),
  {
    kind: "reading",
    step: 0,
    part: "pattern",
    readings: [judgedNet("Q", "low", 24.3), judgedNet("QN", "high", 44.8)],
  },
  { kind: "step-ended", step: 0, result: "fail" },
  ...powerDown,
  closed("fail", "first fail"),
];

function hostile(): readonly RunEvent[] {
  const said = JSON.stringify(HOSTILE);
  const names = [
    "Set-reset latch, lamp flasher rack",
    "FL-07",
    "Q set",
    "easy drive",
    "QN",
    "board.yaml",
  ];
  const json = names.reduce(
    (text, name) => text.replaceAll(JSON.stringify(name), said),
    JSON.stringify(healthyEvents),
  );
  return JSON.parse(json) as RunEvent[];
}

const pages: Readonly<Record<string, () => string>> = {
  pass: () => pageOf(healthyEvents),
  fail: () => pageOf(failing),
  soak: () => pageOfTimed(soakEvents({ cycles: 30_000, wrongEvery: 100, driftV: 2 })),
  "cut off": () => pageOf(healthyUpTo((event) => event.kind === "step-ended")),
  hostile: () => pageOf(hostile()),
};

export async function figure({ report, say }: FigureContext): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "holdfast-page-"));
  const browser = await openBrowser();
  try {
    let problems = 0;
    let contrast = 21;
    for (const [name, make] of Object.entries(pages)) {
      const path = join(folder, `${name.replaceAll(" ", "-")}.html`);
      writeFileSync(path, make());
      const looked = await lookAt(browser, path);
      for (const problem of looked.problems) say(`${name}: ${problem}`);
      problems += looked.problems.length;
      contrast = Math.min(contrast, looked.leastContrast);
    }
    report({
      name: `pages in a browser (${Object.keys(pages).length} pages)`,
      value: problems,
      unit: "problems",
      limit: "0",
      holds: problems === 0,
    });
    report({
      name: "least contrast of text in charts",
      value: Number(contrast.toFixed(2)),
      unit: "to 1",
      limit: `>= ${CONTRAST_MIN}`,
      holds: contrast >= CONTRAST_MIN,
    });
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true });
  }
}
