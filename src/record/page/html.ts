/** Small pieces of HTML. Every text goes through `escapeXml`: names and notes come from files. */
import { escapeXml } from "../../pictures/svg.ts";

/** HTML that is safe to stand in a page, told apart from plain text. */
export interface Html {
  readonly html: string;
}

export function raw(html: string): Html {
  return { html };
}

export function paragraph(words: string, kind?: "lead" | "note"): Html {
  const looks = kind === undefined ? "" : ` class="${kind}"`;
  return raw(`<p${looks}>${escapeXml(words)}</p>`);
}

/** Nothing without an item. */
export function list(items: readonly string[]): Html {
  if (items.length === 0) return raw("");
  return raw(`<ul>\n${items.map((one) => `<li>${escapeXml(one)}</li>`).join("\n")}\n</ul>`);
}

/** A heading over a list; nothing without an item. */
export function titled(title: string, lines: readonly string[]): Html[] {
  return lines.length === 0 ? [] : [raw(`<h3>${escapeXml(title)}</h3>`), list(lines)];
}

export interface Section {
  readonly id: string;
  readonly title: string;
  readonly parts: readonly Html[];
}

/** Whether a section has anything to say. */
export function hasContent({ parts }: Section): boolean {
  return parts.some(({ html }) => html !== "");
}

export function sectionHtml({ id, title, parts }: Section): string {
  return [
    `<section aria-labelledby="${id}-h" id="${id}">`,
    `<h2 id="${id}-h">${escapeXml(title)}</h2>`,
    ...parts.map(({ html }) => html).filter((one) => one !== ""),
    "</section>",
  ].join("\n");
}

/** A chart with words under it. It may be wider than a small screen, so it can be scrolled by keys too. */
export function figure(
  svg: string,
  { label, caption }: { readonly label: string; readonly caption: string },
): Html {
  return raw(
    [
      "<figure>",
      `<div class="wide" role="region" tabindex="0" aria-label="${escapeXml(label)}">`,
      svg,
      "</div>",
      `<figcaption>${escapeXml(caption)}</figcaption>`,
      "</figure>",
    ].join("\n"),
  );
}

interface Column {
  readonly title: string;
  /** Figures stand under each other at the right. */
  readonly isNumber?: boolean;
}

export interface Table {
  readonly caption: string;
  readonly columns: readonly Column[];
  /** The first cell of a row names it. */
  readonly rows: readonly (readonly string[])[];
  /** Rows that a reader must not overlook. */
  readonly marked?: (row: readonly string[]) => boolean;
}

/** With so many a table keeps a width of its own on a small screen, and is scrolled there. */
const WIDE_COLUMNS = 6;

/** Nothing without a row. */
export function table({ caption, columns, rows, marked }: Table): Html {
  if (rows.length === 0) return raw("");
  const looks = (at: number) => (columns[at]?.isNumber === true ? ' class="figure"' : "");
  const head = columns.map(
    ({ title }, at) => `<th scope="col"${looks(at)}>${escapeXml(title)}</th>`,
  );
  const body = rows.map((row) => {
    const cells = row.map((cell, at) =>
      at === 0
        ? `<th scope="row">${escapeXml(cell)}</th>`
        : `<td${looks(at)}>${escapeXml(cell)}</td>`,
    );
    return `<tr${marked?.(row) === true ? ' class="marked"' : ""}>${cells.join("")}</tr>`;
  });
  return raw(
    [
      `<div class="wide" role="region" tabindex="0" aria-label="${escapeXml(caption)}">`,
      columns.length >= WIDE_COLUMNS ? '<table class="many">' : "<table>",
      `<caption>${escapeXml(caption)}</caption>`,
      `<thead><tr>${head.join("")}</tr></thead>`,
      "<tbody>",
      ...body,
      "</tbody>",
      "</table>",
      "</div>",
    ].join("\n"),
  );
}

/** Pairs of a name and what belongs to it. */
export function pairs(entries: readonly (readonly [name: string, words: string])[]): Html {
  if (entries.length === 0) return raw("");
  const rows = entries.map(
    ([name, words]) => `<div><dt>${escapeXml(name)}</dt><dd>${escapeXml(words)}</dd></div>`,
  );
  return raw(`<dl>\n${rows.join("\n")}\n</dl>`);
}
