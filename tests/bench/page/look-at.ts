/** What a browser finds wrong with one page: on screens of several widths, on paper, without scripts. */
import axe from "axe-core";
import type { Browser, Page } from "playwright-core";

/** A desk, half of it (its text at 200 %), a telephone, and 1280 pixels at 400 % (WCAG 2.2, 1.4.10). */
const WIDTHS = [1280, 640, 400, 320];
/** Sheets less the margins of the style sheet, CSS pixels: 96 to an inch. */
const SHEETS = [
  { format: "A4", widthPx: Math.floor(((210 - 28) / 25.4) * 96) },
  { format: "Letter", widthPx: Math.floor(((215.9 - 28) / 25.4) * 96) },
] as const;
/** Least contrast of text (WCAG 2.2, 1.4.3). */
const CONTRAST_MIN = 4.5;

export interface Looked {
  readonly problems: readonly string[];
  readonly leastContrast: number;
}

export async function lookAt(browser: Browser, path: string): Promise<Looked> {
  const problems: string[] = [];
  const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
  try {
    page.on("console", (one) => problems.push(`console: ${one.text()}`));
    page.on("pageerror", (error) => problems.push(`page error: ${error.message}`));
    page.on("request", (request) => {
      if (request.url() !== `file://${path}`) problems.push(`asks for ${request.url()}`);
    });
    await page.goto(`file://${path}`);
    for (const width of WIDTHS) problems.push(...(await overflowAt(page, width, "screen")));
    problems.push(...(await axeViolations(page)));
    const contrast = await chartContrast(page);
    if (contrast < CONTRAST_MIN) problems.push(`text in a chart has a contrast of ${contrast}`);
    await page.emulateMedia({ media: "print" });
    for (const { widthPx } of SHEETS) problems.push(...(await overflowAt(page, widthPx, "paper")));
    problems.push(...(await onPaper(page)));
    problems.push(...(await withoutScripts(browser, path)));
    return { problems, leastContrast: contrast };
  } finally {
    await page.close();
  }
}

/** Nothing may reach beyond the page; what is wider scrolls in its own box on a screen, never on paper. */
async function overflowAt(page: Page, width: number, where: "screen" | "paper"): Promise<string[]> {
  await page.setViewportSize({ width, height: 900 });
  const found = await page.evaluate<string[]>(`(() => {
    const room = document.documentElement.clientWidth + 1;
    const all = [...document.querySelectorAll("body *")];
    const scrolls = (one) => one.closest(".wide, pre, .patterns, .skip") !== null;
    const looked = ${JSON.stringify(where)} === "paper" ? all : all.filter((one) => !scrolls(one));
    return looked
      .filter((one) => one.closest(".patterns, .skip, defs") === null)
      .filter((one) => one.getBoundingClientRect().right > room)
      .slice(0, 3)
      .map((one) => one.tagName + " " + (one.textContent ?? "").trim().slice(0, 40));
  })()`);
  return found.map((what) => `${where}, ${width} px wide: cut off: ${what}`);
}

async function axeViolations(page: Page): Promise<string[]> {
  await page.setViewportSize({ width: 1280, height: 900 });
  await page.evaluate(axe.source);
  const violations = await page.evaluate<
    { readonly id: string; readonly impact: string; readonly nodes: { readonly html: string }[] }[]
  >("axe.run(document).then(({ violations }) => violations)");
  return violations.map(
    ({ id, impact, nodes }) =>
      `axe ${id} (${impact}), ${nodes.length} times: ${nodes[0]?.html.slice(0, 120)}`,
  );
}

/** Of every text in a chart against each colour that charts put behind text. */
function chartContrast(page: Page): Promise<number> {
  return page.evaluate<number>(`(() => {
    const grounds = ["rgb(255, 255, 255)", "rgb(241, 244, 238)", "rgb(246, 240, 230)", "rgb(238, 238, 238)"];
    const linear = (part) => (part /= 255) <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
    const luminance = (colour) => {
      const [red, green, blue] = colour.match(/[0-9.]+/g).map(Number).map(linear);
      return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    };
    const contrast = (one, other) => {
      const [light, dark] = [luminance(one), luminance(other)].sort((a, b) => b - a);
      return (light + 0.05) / (dark + 0.05);
    };
    const texts = [...document.querySelectorAll("svg text")];
    const all = texts.flatMap((one) => grounds.map((ground) => contrast(getComputedStyle(one).fill, ground)));
    return Math.min(21, ...all);
  })()`);
}

async function onPaper(page: Page): Promise<string[]> {
  const problems: string[] = [];
  for (const { format } of SHEETS) {
    const pdf = (await page.pdf({ format, preferCSSPageSize: false })).toString("latin1");
    const sheets = pdf.match(/\/Type\s*\/Page\b/g)?.length ?? 0;
    if (!pdf.startsWith("%PDF-") || sheets === 0) problems.push(`no sheets of ${format}`);
  }
  return problems;
}

/** The same picture whether scripts may run or not. */
async function withoutScripts(browser: Browser, path: string): Promise<string[]> {
  const shots: string[] = [];
  for (const javaScriptEnabled of [true, false]) {
    const context = await browser.newContext({
      javaScriptEnabled,
      viewport: { width: 1000, height: 900 },
    });
    const page = await context.newPage();
    await page.goto(`file://${path}`);
    shots.push((await page.screenshot()).toString("base64"));
    await context.close();
  }
  return shots[0] === shots[1] ? [] : ["looks otherwise without scripts"];
}
