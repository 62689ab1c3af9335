/**
 * Draw what the guarded rule does with boards near their limit: how often each is passed by the rule, as a
 * normal error has it, with dots of simulated rigs read and judged by the program itself.
 *
 *   node --import tsx docs/operating-curve.ts      writes operating-curve.svg beside this file
 */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { resultProbabilities } from "../src/verdict/risk.ts";
import { passing } from "../tests/bench/false-accept.ts";

const WIDTH = 860;
const HEIGHT = 440;
const LEFT = 70;
const RIGHT = 30;
const TOP = 40;
const BOTTOM = 70;
/** True room to the limit, in units of U. */
const FROM_U = -2;
const TO_U = 3;
const STEP_U = 0.05;
const DOTS_U = [-1.5, -1, -0.5, -0.25, 0, 0.25, 0.5, 0.75, 1, 1.25, 1.5, 2, 2.5];
const TRIALS = 400;

const x = (roomU: number) => LEFT + ((roomU - FROM_U) / (TO_U - FROM_U)) * (WIDTH - LEFT - RIGHT);
const y = (share: number) => HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM);

function path(shareAt: (roomU: number) => number): string {
  const count = Math.round((TO_U - FROM_U) / STEP_U);
  return Array.from({ length: count + 1 }, (_, at) => {
    const roomU = FROM_U + at * STEP_U;
    return `${at === 0 ? "M" : "L"}${x(roomU).toFixed(1)} ${y(shareAt(roomU)).toFixed(1)}`;
  }).join("");
}

const guarded = (roomU: number) => resultProbabilities(roomU, 1).pass;
const simple = (roomU: number) => {
  const { pass, "conditional pass": nearly } = resultProbabilities(roomU, 1);
  return pass + nearly;
};
const words = (at: { x: number; y: number; anchor?: string }, text: string) =>
  `<text x="${at.x.toFixed(1)}" y="${at.y.toFixed(1)}" text-anchor="${at.anchor ?? "middle"}">${text}</text>`;

const svg = [
  `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img">`,
  "<title>How often a net passes, by its true room to the limit</title>",
  `<rect x="0.5" y="0.5" width="${WIDTH - 1}" height="${HEIGHT - 1}" rx="6" fill="#fcfbf7" stroke="#b9b4a6"/>`,
  `<g font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="13" fill="#22211d" stroke="none">`,
  `<rect x="${x(0)}" y="${y(1)}" width="${x(1) - x(0)}" height="${y(0) - y(1)}" fill="#efe9d8"/>`,
  ...[0, 0.25, 0.5, 0.75, 1].flatMap((share) => [
    `<path d="M${x(FROM_U)} ${y(share)}H${x(TO_U)}" stroke="#d8d2c2" fill="none"/>`,
    words({ x: LEFT - 10, y: y(share) + 4, anchor: "end" }, `${100 * share} %`),
  ]),
  ...[-2, -1, 0, 1, 2, 3].map((roomU) =>
    words({ x: x(roomU), y: HEIGHT - BOTTOM + 20 }, roomU === 0 ? "limit" : `${roomU} U`),
  ),
  `<path d="M${x(0)} ${y(1)}V${y(0)}" stroke="#22211d" fill="none"/>`,
  words({ x: (x(0) + x(1)) / 2, y: y(1) - 8 }, "guard band"),
  words(
    { x: WIDTH / 2, y: HEIGHT - 20 },
    "true room of the net to its limit; left of it the net is bad",
  ),
  `<path d="${path(simple)}" fill="none" stroke="#22211d" stroke-width="1.5" stroke-dasharray="6 5"/>`,
  `<path d="${path(guarded)}" fill="none" stroke="#22211d" stroke-width="2.5"/>`,
  ...DOTS_U.map((roomU) => {
    const share = passing("low", -roomU, TRIALS);
    return `<circle cx="${x(roomU).toFixed(1)}" cy="${y(share).toFixed(1)}" r="4.5" fill="#fcfbf7" stroke="#22211d" stroke-width="1.5"/>`;
  }),
  words({ x: x(1.55), y: y(0.6), anchor: "start" }, "passes, guarded"),
  words({ x: x(-0.15), y: y(0.72), anchor: "end" }, "passes, simple"),
  words({ x: x(1.4), y: y(0.15), anchor: "start" }, `dots: ${TRIALS} simulated rigs each`),
  "</g>",
  "</svg>",
  "",
].join("\n");
writeFileSync(join(import.meta.dirname, "operating-curve.svg"), svg);
