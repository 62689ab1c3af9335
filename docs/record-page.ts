/**
 * Take the picture of a page from a run made here and now: the shipped latch proved on the emulated
 * bench, its page opened in a browser, from its levels to its steps. Needs chromium.
 *
 *   npx node --import tsx docs/record-page.ts      writes record-page.png beside this file
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { openBrowser } from "../tests/bench/page/browser.ts";

const WIDTH = 800;
const MARGIN = 12;

const root = resolve(import.meta.dirname, "..");
const runs = mkdtempSync(join(tmpdir(), "holdfast-picture-"));
try {
  const program = ["--import", "tsx", "src/main.ts", "prove", "--plain", "--unit", "LV-12"];
  spawnSync(process.execPath, [...program, "--runs", runs], { cwd: root });
  const folder = readdirSync(runs).find((name) => name.endsWith("flasher-latch"));
  if (folder === undefined) throw new Error(`Expected the folder of one run in ${runs}.`);
  const browser = await openBrowser();
  const page = await browser.newPage({ viewport: { width: WIDTH, height: 900 } });
  await page.goto(`file://${join(runs, folder, "record.html")}`);
  const first = await page.locator("#levels").boundingBox();
  const last = await page.locator("#steps figure").boundingBox();
  if (first === null || last === null) throw new Error("Expected levels and steps on the page.");
  await page.screenshot({
    path: join(import.meta.dirname, "record-page.png"),
    fullPage: true,
    clip: {
      x: 0,
      y: first.y - MARGIN,
      width: WIDTH,
      height: last.y + last.height - first.y + 2 * MARGIN,
    },
  });
  await browser.close();
} finally {
  rmSync(runs, { recursive: true });
}
