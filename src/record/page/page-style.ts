/**
 * The looks of a page, on screen and on paper. Ink on white throughout: what a colour says, a shape, a
 * hatch or a word says as well, and every text has a contrast of at least 4.5 to 1 (WCAG 2.2, 1.4.3).
 */

const SCREEN = `
:root { color-scheme: light; --ink: #1a1a1a; --soft: #505050; --rule: #8a8a8a; --paper: #fff; --bad: #9b1c1c; --tint: #f4f2ec }
* { box-sizing: border-box }
html { font: 1rem/1.5 system-ui, sans-serif; color: var(--ink); background: var(--paper) }
body { margin: 0 auto; padding: 1.5rem 1rem 4rem; max-width: 58rem }
h1 { font-size: 1.6rem; line-height: 1.25; margin: 0 0 .25rem; overflow-wrap: anywhere }
h2 { font-size: 1.2rem; line-height: 1.3; margin: 2.5rem 0 .5rem; padding-top: .5rem; border-top: 2px solid var(--ink) }
h3 { font-size: 1rem; margin: 1.5rem 0 .25rem }
p, ul, dl { margin: .5rem 0; max-width: 46rem; overflow-wrap: anywhere }
ul { padding-left: 1.25rem }
.verdict { font-size: 1.35rem; font-weight: 700; margin: .75rem 0; padding: .5rem .75rem; border: 2px solid var(--ink); display: inline-block }
.verdict.bad { border-width: 5px; border-style: double }
.lead { font-size: 1.05rem }
.note { color: var(--soft) }
a { color: var(--ink) }
a:focus-visible, .wide:focus-visible { outline: 3px solid var(--ink); outline-offset: 2px }
.skip { position: absolute; left: -100vw }
.skip:focus { position: static }
nav ul { columns: 2 14rem; list-style: none; padding: 0 }
dl div { display: grid; grid-template-columns: minmax(8rem, 13rem) 1fr; gap: 0 1rem; padding: .15rem 0; border-bottom: 1px solid #ddd }
dt { color: var(--soft) }
@media (max-width: 30rem) { dl div { grid-template-columns: 1fr } }
dd { margin: 0; overflow-wrap: anywhere }
.wide { overflow-x: auto }
figure { margin: 1rem 0 }
figcaption { color: var(--soft); font-size: .875rem; max-width: 46rem }
table { border-collapse: collapse; font-size: .875rem; margin: .75rem 0; font-variant-numeric: tabular-nums }
caption { text-align: left; font-weight: 600; padding: .25rem 0 }
th, td { text-align: left; vertical-align: top; padding: .2rem .6rem .2rem 0; border-bottom: 1px solid #ccc }
thead th { border-bottom: 2px solid var(--ink); vertical-align: bottom }
tbody th { font-weight: 600 }
.figure { text-align: right; white-space: nowrap; padding-right: 1.1rem }
thead .figure { white-space: normal }
.many { min-width: 46rem }
tr.marked > * { background: var(--tint); border-bottom: 2px solid var(--bad) }
tr.marked > th::before { content: "\\2717\\00a0"; color: var(--bad) }
pre { font: .8125rem/1.4 ui-monospace, monospace; padding: .75rem; border: 1px solid var(--rule); overflow-x: auto }
.errors { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(20rem, 100%), 1fr)); gap: 1rem }
.errors figure { margin: 0 }
.errors .wide svg { min-width: 18rem }
.end { margin-top: 2.5rem; border-top: 2px solid var(--ink); padding-top: .5rem; font-weight: 600 }
.patterns { position: absolute; width: 0; height: 0 }
.wide svg { display: block; width: 100%; min-width: 42rem; height: auto }
svg text { font: 13px system-ui, sans-serif; fill: var(--ink) }
svg .strong { font-weight: 700 }
svg .small { paint-order: stroke; stroke: var(--paper); stroke-width: 3px; stroke-linejoin: round }
svg .small { font-size: 12px; fill: #333 }
svg .faint { fill: var(--soft) }
svg polyline, svg path { fill: none; stroke: var(--ink); stroke-width: 1.5 }
svg .grid { stroke: #d4d4d4; stroke-width: 1 }
svg .axis { stroke: var(--ink); stroke-width: 1 }
svg .limit { stroke: var(--ink); stroke-width: 1.5; stroke-dasharray: 6 3 }
svg .allowed { fill: url(#hatch) }
svg .nowhere { fill: url(#dots) }
svg .window { fill: url(#hatch) }
svg .gap { fill: url(#cross) }
svg .moved { fill: url(#dots) }
svg .range { fill: #6b6b6b }
svg .bar { fill: #6b6b6b }
svg .whisker { stroke-width: 2 }
svg .series { stroke-width: 1.75; stroke-linejoin: round }
svg .second { stroke: #4d4d4d; stroke-width: 1; stroke-dasharray: 3 2 }
svg .expected { stroke: #8a8a8a; stroke-width: 6 }
svg .worst { fill: var(--paper); stroke-width: 1.75 }
svg .miss { stroke: var(--bad); stroke-width: 3 }
svg .dot { fill: var(--ink) }
`;

const PAPER = `
@media print {
  html { font-size: 9.5pt }
  body { padding: 0; max-width: none }
  nav, .skip { display: none }
  h2, h3, caption { break-after: avoid }
  h2 { margin-top: 1.25rem }
  figure, tr, pre, .verdict, dl div { break-inside: avoid }
  .wide { overflow: visible }
  .wide svg { min-width: 0 }
  table { font-size: 8pt; width: 100% }
  tbody th, td { overflow-wrap: anywhere }
  .many { min-width: 0 }
  thead { display: table-header-group }
  pre { white-space: pre-wrap; font-size: 8pt }
  .errors { grid-template-columns: 1fr 1fr }
  .errors .wide svg { min-width: 0 }
}
`;

/**
 * The style sheet, with which run it is at the foot of every sheet of paper.
 *
 * @param footer what every sheet must say of itself (ISO/IEC 17025:2017, 7.8.2.1 d)
 */
export function pageStyle(footer: string): string {
  const margins = `
@page {
  margin: 14mm 14mm 18mm;
  @bottom-left { content: ${cssString(footer)}; font: 8pt system-ui, sans-serif }
  @bottom-right { content: counter(page) " / " counter(pages); font: 8pt system-ui, sans-serif }
}
`;
  return SCREEN + PAPER + margins;
}

/** A string of CSS in which nothing but letters, figures and spaces stands as itself. */
function cssString(words: string): string {
  const safe = [...words.replace(/[\p{Cc}\p{Cf}\p{Cs}]/gu, "")].map((sign) =>
    /[A-Za-z0-9 ]/.test(sign) ? sign : `\\${(sign.codePointAt(0) ?? 0x20).toString(16)} `,
  );
  return `"${safe.join("")}"`;
}

/** Hatches that charts are filled with: lines for where a level may be, dots for where it is none. */
export const PATTERNS = `<svg class="patterns" aria-hidden="true" focusable="false"><defs>
<pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="7" height="7" fill="#f1f4ee"/><rect width="1" height="7" fill="#b9c6ae"/></pattern>
<pattern id="dots" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" fill="#f6f0e6"/><circle cx="3" cy="3" r="0.9" fill="#a8977a"/></pattern>
<pattern id="cross" width="8" height="8" patternUnits="userSpaceOnUse"><rect width="8" height="8" fill="#eee"/><path d="M0 0l8 8M8 0l-8 8" stroke="#666" stroke-width="1"/></pattern>
</defs></svg>`;
