/**
 * A record as one page to look at and to print: HTML that needs no network and no script. Made from
 * record and journal alone, of bounded size however long the run was.
 */
import { createHash } from "node:crypto";
import { limitText, measuredText, voltsText } from "../../measure/volts-text.ts";
import { escapeXml } from "../../pictures/svg.ts";
import type { AcceptanceRecord, ResultTotal } from "../acceptance-record.ts";
import { pasteLines } from "../paste-lines.ts";
import { causeText, missText } from "../record-lines.ts";
import { seconds } from "../record-words.ts";
import { chartSections } from "./chart-sections.ts";
import { type Html, hasContent, pairs, paragraph, raw, type Section, sectionHtml } from "./html.ts";
import type { PageFacts } from "./page-facts.ts";
import { PATTERNS, pageStyle } from "./page-style.ts";
import { soakSections } from "./soak-sections.ts";
import { aboutSections, shownSection, tableSections } from "./word-sections.ts";

/** The whole page, LF at its end. The same record and facts give the same bytes. */
export function recordPage(record: AcceptanceRecord, facts: PageFacts): string {
  const style = pageStyle(footerOf(record));
  const sections = [
    shownSection(record),
    ...chartSections(record, facts),
    ...soakSections(record, facts.soak),
    ...tableSections(record),
    ...aboutSections(record, facts.plan),
    pasteSection(record),
  ].filter(hasContent);
  const title = `${record.verdict.toUpperCase()}: ${nameOf(record)}`;
  return [
    "<!doctype html>",
    '<html lang="en">',
    "<head>",
    '<meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="${policyFor(style)}">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    '<meta name="referrer" content="no-referrer">',
    `<title>${escapeXml(title)}</title>`,
    `<style>${style}</style>`,
    "</head>",
    "<body>",
    PATTERNS,
    '<a class="skip" href="#shown">To what was shown</a>',
    headHtml(record),
    navHtml(sections),
    "<main>",
    ...sections.map(sectionHtml),
    "</main>",
    `<footer class="end">End of the record of run ${escapeXml(record.run)}.</footer>`,
    "</body>",
    "</html>",
    "",
  ].join("\n");
}

/** Nothing may be loaded and nothing may run; the one style sheet is known by its hash. */
function policyFor(style: string): string {
  const hash = createHash("sha256").update(style).digest("base64");
  return `default-src 'none'; style-src 'sha256-${hash}'; base-uri 'none'; form-action 'none'`;
}

function nameOf({ board, unit }: AcceptanceRecord): string {
  return `${board.name} revision ${board.revision}, ${unit === null ? "unit not named" : `unit ${unit}`}`;
}

function footerOf({ run, number, status }: AcceptanceRecord): string {
  return `${number === null ? `Run ${run}` : `Record ${number} of run ${run}`}, ${status}`;
}

function headHtml(record: AcceptanceRecord): string {
  const { board, mode, verdict, firstMiss, scope } = record;
  const isBad = verdict !== "pass" && verdict !== "conditional pass";
  const parts: Html[] = [
    raw(`<h1>${escapeXml(board.title)}</h1>`),
    paragraph(nameOf(record), "lead"),
    raw(
      `<p class="verdict${isBad ? " bad" : ""}">Verdict: ${escapeXml(mode === "hand" ? "none, driven by hand" : verdict)}</p>`,
    ),
    paragraph(causeText(record)),
    ...(firstMiss === null ? [] : [paragraph(`First miss: ${missText(record)}`)]),
    ...nearest(record),
    paragraph(scope),
    pairs(identity(record)),
  ];
  return ["<header>", ...parts.map(({ html }) => html), "</header>"].join("\n");
}

/** The net that came nearest to its limit, or went furthest beyond it. */
function nearest({ results }: AcceptanceRecord): Html[] {
  const net = results
    .filter(({ kind }) => kind === "net")
    .reduce<ResultTotal | null>(
      (found, one) =>
        one.worst !== null && (found?.worst == null || one.worst.marginV < found.worst.marginV)
          ? one
          : found,
      null,
    );
  if (net?.worst == null) return [];
  const { volts, marginV, limitV, expandedV } = net.worst;
  const inU = expandedV ? `, ${(marginV / expandedV).toFixed(1)} times its uncertainty` : "";
  return [
    paragraph(
      `Nearest to its limit: ${net.channel} ${net.expected}, ${measuredText(volts, net.worst)}, limit ${limitText(limitV)} V, room ${voltsText(marginV)}${inU}.`,
    ),
  ];
}

function identity(record: AcceptanceRecord): (readonly [string, string])[] {
  const { release, number, status, run, opened, closed, lengthMs, program } = record;
  return [
    ["Record", `${number ?? "without a number"}, ${status}`],
    ...(release === null
      ? []
      : [
          [
            "Released",
            `${release.at}${release.by === null ? ", by a person who is not named" : `, by ${release.by}`}`,
          ] as const,
          ["Sealed with key", release.key] as const,
        ]),
    ...(release?.corrects == null
      ? []
      : [["Corrects", `record ${release.corrects.number}: ${release.corrects.why}`] as const]),
    ["Run", run],
    ["Begun", opened],
    ["Closed", closed ?? "never"],
    ["Length", seconds(lengthMs)],
    ["Rig and sequence", `${record.rig}, ${record.sequence}`],
    ["Run by", program],
  ];
}

function navHtml(sections: readonly Section[]): string {
  const links = sections.map(
    ({ id, title }) => `<li><a href="#${id}">${escapeXml(title)}</a></li>`,
  );
  return ['<nav aria-label="Parts of this record">', "<ul>", ...links, "</ul>", "</nav>"].join(
    "\n",
  );
}

function pasteSection(record: AcceptanceRecord): Section {
  const words = pasteLines(record).map(escapeXml).join("\n");
  return {
    id: "paste",
    title: "To paste where one asks others",
    parts: [
      paragraph("Plain text of 72 columns, with nothing of a person's computer in it.", "note"),
      raw(`<pre tabindex="0" role="region" aria-label="Plain text of this record">${words}</pre>`),
    ],
  };
}
