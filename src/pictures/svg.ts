/** A small writer of SVG: shapes and text in one self-contained file, readable light, dark and grey. */

export type Anchor = "start" | "middle" | "end";

/** What a shape is; the style sheet gives each its look, none by colour alone. */
export type Look =
  | "box"
  | "wire"
  | "rule"
  | "between"
  | "moved"
  | "sure"
  | "strong"
  | "faint"
  | ChartLook;

/** What only charts have; the page they stand in gives them their looks. */
type ChartLook =
  /** Where a sender may be, and where a receiver can tell nothing. */
  | "allowed"
  | "nowhere"
  | "limit"
  | "axis"
  | "grid"
  /** All that was read; the mean of it. */
  | "range"
  | "series"
  | "second"
  /** Uncertainty about a reading. */
  | "whisker"
  | "worst"
  | "miss"
  | "expected"
  | "window"
  | "gap"
  | "bar"
  | "small";

/** Room round the picture, height of a row of text, width of a letter; pixels. */
export const MARGIN = 24;
export const ROW = 20;
export const LETTER = 8;

/** How far down a part of the picture reaches, and how far to the right. */
export interface Extent {
  readonly bottom: number;
  readonly right: number;
}

export interface Drawing {
  readonly parts: string[];
}

export function newDrawing(): Drawing {
  return { parts: [] };
}

/** Text of a file made safe inside SVG. */
export function escapeXml(text: string): string {
  return text
    .replace(/[\p{Cc}\p{Cf}\p{Cs}]/gu, "")
    .replaceAll("&", "&amp;")
    .replaceAll("<", "&lt;")
    .replaceAll(">", "&gt;")
    .replaceAll('"', "&quot;");
}

export function text(
  drawing: Drawing,
  at: { readonly x: number; readonly y: number; readonly anchor?: Anchor; readonly look?: Look },
  words: string,
): void {
  const anchor = at.anchor === undefined ? "" : ` text-anchor="${at.anchor}"`;
  const look = at.look === undefined ? "" : ` class="${at.look}"`;
  drawing.parts.push(
    `<text x="${px(at.x)}" y="${px(at.y)}"${anchor}${look}>${escapeXml(words)}</text>`,
  );
}

/** A tenth of a pixel is as fine as anything can be seen. */
export function px(value: number): string {
  return String(Math.round(value * 10) / 10);
}

export function rect(
  drawing: Drawing,
  at: { readonly x: number; readonly y: number; readonly w: number; readonly h: number },
  look: Look,
): void {
  drawing.parts.push(
    `<rect x="${px(at.x)}" y="${px(at.y)}" width="${px(at.w)}" height="${px(at.h)}" class="${look}"/>`,
  );
}

/** A line through points. */
export function line(
  drawing: Drawing,
  points: readonly (readonly [number, number])[],
  look: Look,
): void {
  const path = points.map(([x, y]) => `${px(x)},${px(y)}`).join(" ");
  drawing.parts.push(`<polyline points="${path}" class="${look}"/>`);
}

export function circle(
  drawing: Drawing,
  at: { readonly x: number; readonly y: number; readonly r: number },
  look: Look,
): void {
  drawing.parts.push(`<circle cx="${px(at.x)}" cy="${px(at.y)}" r="${px(at.r)}" class="${look}"/>`);
}

const STYLE = `
text { font: 13px ui-monospace, monospace; fill: #111 }
.strong { font-weight: bold }
.faint { fill: #666 }
.box { fill: none; stroke: #111; stroke-width: 1.5 }
polyline { fill: none; stroke: #111; stroke-width: 1.5 }
polyline.rule { stroke: #999; stroke-width: 1; stroke-dasharray: 2 3 }
circle { fill: #fff; stroke: #111; stroke-width: 1.5 }
.paper { fill: #fff }
rect.moved { fill: #111; fill-opacity: 0.08; stroke: none }
rect.sure { fill: #111; fill-opacity: 0.75; stroke: #111; stroke-width: 1.5 }
rect.between { fill: none; stroke: #111; stroke-dasharray: 3 2 }
@media (prefers-color-scheme: dark) {
  text { fill: #eee } .faint { fill: #aaa } .paper, circle { fill: #16181c }
  .box, polyline, circle, rect.between { stroke: #eee } polyline.rule { stroke: #777 }
  rect.moved { fill: #eee; fill-opacity: 0.12 }
  rect.sure { fill: #eee; stroke: #eee }
}`;

export interface SvgFrame {
  readonly title: string;
  readonly description: string;
  readonly width: number;
  readonly height: number;
}

export function svgText(drawing: Drawing, { title, description, width, height }: SvgFrame): string {
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-labelledby="t d">`,
    `<title id="t">${escapeXml(title)}</title>`,
    `<desc id="d">${escapeXml(description)}</desc>`,
    `<style>${STYLE}\n</style>`,
    `<rect class="paper" width="${width}" height="${height}"/>`,
    ...drawing.parts,
    "</svg>",
    "",
  ].join("\n");
}
