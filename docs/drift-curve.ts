/**
 * Draw how often a section that loses emission is named, by how far its low level went over the night: nights of
 * the figure `weak-tube`, read anew. Takes minutes.
 *
 *   node --import tsx docs/drift-curve.ts [NIGHTS]      writes drift-curve.svg beside this file
 */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { healthyNights, sigmaOf, weakNights } from "../tests/bench/weak-tube/campaign.ts";

const WIDTH = 860;
const HEIGHT = 440;
const LEFT = 70;
const RIGHT = 30;
const TOP = 40;
const BOTTOM = 90;
const MOST_SIGMA = 10;
const ASKED_SIGMA = 5;
/** Nights for each dot, and healthy ones for sigma. */
const NIGHTS = Number(process.argv[2] ?? 40);

const x = (sigma: number) => LEFT + (sigma / MOST_SIGMA) * (WIDTH - LEFT - RIGHT);
const y = (share: number) => HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM);
const words = (at: { x: number; y: number; anchor?: string }, text: string) =>
  `<text x="${at.x.toFixed(1)}" y="${at.y.toFixed(1)}" text-anchor="${at.anchor ?? "middle"}">${text}</text>`;

const healthy = await healthyNights(NIGHTS);
const sigmaV = sigmaOf(healthy);
const falses = healthy.filter(({ findings }) => findings.length > 0).length;
const dots = [{ sigma: 0, share: falses / NIGHTS, plain: 0 }];
for (let sigma = 1; sigma <= MOST_SIGMA; sigma += 1) {
  const { named, results } = await weakNights(sigma, NIGHTS, sigmaV);
  const rises = healthy.map((night) => Math.max(...Object.values(night.plainRises)));
  const limitV = [...rises].sort((a, b) => b - a)[falses] ?? 0;
  const seen = results.filter(({ plainRises }) =>
    Object.values(plainRises).some((one) => one > limitV),
  ).length;
  dots.push({ sigma, share: named / NIGHTS, plain: seen / NIGHTS });
}
const path = (of: "share" | "plain") =>
  dots
    .map((dot, at) => `${at === 0 ? "M" : "L"}${x(dot.sigma).toFixed(1)} ${y(dot[of]).toFixed(1)}`)
    .join("");
const mv = (sigma: number) => `${(1000 * sigma * sigmaV).toFixed(0)} mV`;

const svg = [
  `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img">`,
  "<title>How often a weak section is named, by how far its low level went over the night</title>",
  `<rect x="0.5" y="0.5" width="${WIDTH - 1}" height="${HEIGHT - 1}" rx="6" fill="#fcfbf7" stroke="#b9b4a6"/>`,
  `<g font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="13" fill="#22211d" stroke="none">`,
  ...[0, 0.25, 0.5, 0.75, 1].flatMap((share) => [
    `<path d="M${x(0)} ${y(share)}H${x(MOST_SIGMA)}" stroke="#d8d2c2" fill="none"/>`,
    words({ x: LEFT - 10, y: y(share) + 4, anchor: "end" }, `${100 * share} %`),
  ]),
  ...Array.from({ length: MOST_SIGMA + 1 }, (_, sigma) =>
    words({ x: x(sigma), y: HEIGHT - BOTTOM + 20 }, `${sigma}`),
  ),
  ...[0, 2, 4, 6, 8, 10].map((sigma) => words({ x: x(sigma), y: HEIGHT - BOTTOM + 38 }, mv(sigma))),
  `<path d="M${x(ASKED_SIGMA)} ${y(1)}V${y(0)}" stroke="#b9b4a6" stroke-dasharray="3 4" fill="none"/>`,
  words(
    { x: WIDTH / 2, y: HEIGHT - 24 },
    "drift of one low level over a night of 12 h, in sigma of an hour and in millivolts",
  ),
  `<path d="${path("plain")}" fill="none" stroke="#22211d" stroke-width="1.5" stroke-dasharray="6 5"/>`,
  `<path d="${path("share")}" fill="none" stroke="#22211d" stroke-width="2.5"/>`,
  ...dots.map(
    (dot) =>
      `<circle cx="${x(dot.sigma).toFixed(1)}" cy="${y(dot.share).toFixed(1)}" r="4.5" fill="#fcfbf7" stroke="#22211d" stroke-width="1.5"/>`,
  ),
  words({ x: x(5.4), y: y(0.8), anchor: "start" }, "right section named"),
  words({ x: x(6.2), y: y(0.25), anchor: "start" }, "fixed threshold, set by hindsight"),
  words({ x: x(6.2), y: y(0.25) + 18, anchor: "start" }, `dots: ${NIGHTS} simulated nights each`),
  "</g>",
  "</svg>",
  "",
].join("\n");
writeFileSync(join(import.meta.dirname, "drift-curve.svg"), svg);
