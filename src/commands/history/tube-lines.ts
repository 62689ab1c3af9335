/** The tube book as lines of text. */

import { scaleOf } from "../../history/trend.ts";
import type { SectionSighting, TubeFinding } from "../../history/tube-findings.ts";
import { replacedBy, type Stint } from "../../history/tube-stints.ts";
import { limitText, voltsText } from "../../measure/volts-text.ts";
import { sparkline } from "../../screen/sparkline.ts";
import type { TubeNoteRow } from "../../store/run-index/tables.ts";
import type { SectionLevel } from "../../store/run-index/tube-rows.ts";
import type { TubeBook, TubePage } from "../tubes.ts";
import { hoursText, momentText } from "./history-words.ts";
import { textTable } from "./text-table.ts";

const HOURS_NOTE =
  "Hours are those of the runs kept here; what a tube did before, or elsewhere, nobody saw.";
const BARS_MAX = 30;

export function bookLines(book: TubeBook): string[] {
  const serials = [...new Set(book.stints.map(({ serial }) => serial))].sort((one, other) =>
    one.localeCompare(other, "en", { numeric: true }),
  );
  if (serials.length === 0) {
    return ["No run had a unit file with serials of tubes yet. See docs/files.md, unit files."];
  }
  const stints = bySerial(book.stints);
  const sightings = bySerial(book.sightings);
  const rows = serials.map((serial) => {
    const own = stints.get(serial) ?? [];
    const last = own.at(-1);
    const newest = worstOf((sightings.get(serial) ?? []).filter(({ run }) => run === last?.proof));
    return [
      serial,
      last?.tube ?? "",
      whereText(last, book),
      String(new Set(own.map(({ unit, position }) => `${unit} ${position}`)).size),
      hoursText(sum(own, "heaterMs")),
      hoursText(sum(own, "plateMs")),
      newest === null ? "" : `${newest.net} ${lowText(newest)}`,
      newest?.z == null ? "" : newest.z.toFixed(1),
    ];
  });
  return [
    ...textTable(
      ["tube", "type", "where", "sockets", "heaters", "plate", "highest low", "robust z"],
      rows,
      ["left", "left", "left", "right", "right", "right", "left", "right"],
    ),
    HOURS_NOTE,
    ...findingLines(book),
  ];
}

export function tubeLines({ serial, book, sections, levels }: TubePage, ascii: boolean): string[] {
  const own = book.stints.filter((stint) => stint.serial === serial);
  const rows = own.map((stint) => {
    const seen = sections.filter(({ run }) => stint.runs.includes(run));
    return [
      `${stint.unit} ${stint.position}`,
      momentText(stint.from),
      momentText(stint.to),
      String(stint.runs.length),
      hoursText(stint.heaterMs),
      hoursText(stint.plateMs),
      hoursText(stint.heaterOnlyMs),
      [...new Set(seen.map(({ section }) => section))]
        .map((section) => {
          const of = seen.filter((one) => one.section === section);
          return `${section} ${hoursText(sum(of, "cutOffMs"))} of ${hoursText(sum(of, "cutOffMs") + sum(of, "conductingMs"))}`;
        })
        .join(", "),
    ];
  });
  return [
    `${serial}${own.at(-1)?.tube == null ? "" : `, ${own.at(-1)?.tube}`}: ${whereText(own.at(-1), book)}`,
    "",
    ...textTable(
      [
        "socket",
        "first run",
        "newest run",
        "runs",
        "heaters",
        "plate",
        "heaters alone",
        "seen cut off",
      ],
      rows,
      ["left", "left", "left", "right", "right", "right", "right", "left"],
    ),
    HOURS_NOTE,
    ...noteLines(book.notes.filter((note) => note.serial === serial)),
    ...levelLines(levels, ascii),
    ...findingLines({
      ...book,
      findings: book.findings.filter(
        (one) => one.serial === serial || one.weakIn.some((seen) => seen.serial === serial),
      ),
      doubled: book.doubled.filter((one) => one.serial === serial),
      mentions: book.mentions.filter((one) => one.serial === serial),
    }),
  ];
}

/** Where it was last, unless something else stands there since, or a person wrote that it was taken out. */
function whereText(last: Stint | undefined, book: TubeBook): string {
  if (last === undefined) return "in no run";
  const place = `${last.unit} ${last.position}`;
  const removed = book.notes.findLast(
    ({ serial, kind, date }) =>
      serial === last.serial && kind === "removed" && date >= last.to.slice(0, 10),
  );
  if (removed !== undefined) return `out of ${place}: ${removed.text}`;
  const other = replacedBy(last, book.stints);
  return other === null ? place : `out of ${place}, ${other.serial} is there`;
}

function noteLines(notes: readonly TubeNoteRow[]): string[] {
  if (notes.length === 0) return [];
  return [
    "",
    ...notes.map(({ date, kind, text, found, unit, position, by }) => {
      const where = [unit, position].filter((one) => one !== null).join(" ");
      const words = [
        kind === "note" ? text : `${kind}${where === "" ? "" : ` (${where})`}: ${text}`,
        ...(found === null ? [] : [`found ${found}`]),
        ...(by === null ? [] : [by]),
      ];
      return `${date} ${words.join(", ")}`;
    }),
  ];
}

/** Each section's net over the runs that judged it, oldest left. */
function levelLines(levels: readonly SectionLevel[], ascii: boolean): string[] {
  const keys = [
    ...new Set(levels.map(({ section, net, expected }) => `${section} ${net} ${expected}`)),
  ];
  const rows = keys.sort().flatMap((key) => {
    const of = levels.filter(
      ({ section, net, expected }) => `${section} ${net} ${expected}` === key,
    );
    const points = of
      .flatMap(({ run, worstV, volts, expandedV }) =>
        worstV === null ? [] : [{ run, openedMs: 0, worstV, meanV: volts, expandedV }],
      )
      .slice(-BARS_MAX);
    if (points.length === 0) return [];
    const { lowV, highV } = scaleOf({ points });
    const limitV = of.at(-1)?.limitV ?? null;
    return [
      [
        key,
        sparkline(
          points.map(({ worstV }) => worstV),
          { low: lowV, high: highV },
          ascii,
        ),
        voltsText(points[0]?.worstV ?? 0),
        voltsText(points.at(-1)?.worstV ?? 0),
        limitV === null ? "" : `${limitText(limitV)} V`,
      ],
    ];
  });
  if (rows.length === 0) return [];
  return [
    "",
    ...textTable(["section, net, level", "runs", "first", "newest", "limit"], rows, [
      "left",
      "left",
      "right",
      "right",
      "right",
    ]),
  ];
}

function findingLines({
  findings,
  doubled,
  mentions,
}: Pick<TubeBook, "findings" | "doubled" | "mentions">): string[] {
  const lines = [
    ...findings.flatMap(oneFinding),
    ...mentions.map(
      ({ serial, unit, position, text, run }) =>
        `${serial} in ${unit} ${position}, no finding against it alone: ${text}, ${run}`,
    ),
    ...doubled.map(
      ({ serial, run, positions }) =>
        `${serial} stands in ${positions.join(" and ")} at once in ${run}: one of the two is another tube.`,
    ),
  ];
  return lines.length === 0 ? [] : ["", ...lines];
}

function oneFinding(finding: TubeFinding): string[] {
  const { weakIn, goodIn, next } = finding;
  return [
    headline(finding),
    ...weakIn.map((one) => `  weak: ${sightingText(one)}`),
    ...goodIn.map((one) => `  good: ${sightingText(one)}`),
    ...(next === null ? [] : [`  Next: ${next}.`]),
  ];
}

function headline({ kind, serial, unit, position, weakIn, goodIn }: TubeFinding): string {
  const sockets = new Set(weakIn.map((one) => `${one.unit} ${one.position}`)).size;
  const tubes = new Set(weakIn.map((one) => one.serial)).size;
  switch (kind) {
    case "the tube": {
      const but = goodIn.length === 0 ? "" : ", though not in every socket it was in";
      return `${serial} is weak in ${sockets} sockets: it is the tube${but}.`;
    }
    case "the socket": {
      const but = goodIn.length === 0 ? "" : ", though not every tube in it was weak";
      return `${unit} ${position} weakens ${tubes} tubes: it is the socket, or what is around it${but}.`;
    }
    case "tube or socket":
      return `${serial} is weak in ${unit} ${position}, seen there alone: it may be the tube or the socket.`;
  }
}

function lowText({ lowV }: SectionSighting): string {
  return lowV === null ? "not read" : voltsText(lowV);
}

function sightingText(one: SectionSighting): string {
  const { serial, unit, position, section, net, run, z, units, failed, drift } = one;
  if (drift !== undefined)
    return `${serial} in ${unit} ${position}, section ${section}, ${drift}, ${run}`;
  const among =
    z === null
      ? `too few sisters to compare (${units - 1})`
      : `robust z ${z.toFixed(1)} among ${units} units`;
  return `${serial} in ${unit} ${position}, section ${section}, ${net} low ${lowText(one)}${failed ? ", beyond its limit" : ""}, ${among}, ${run}`;
}

function bySerial<Item extends { readonly serial: string }>(
  items: readonly Item[],
): Map<string, Item[]> {
  const by = new Map<string, Item[]>();
  for (const item of items) {
    const own = by.get(item.serial) ?? [];
    own.push(item);
    by.set(item.serial, own);
  }
  return by;
}

function worstOf(sightings: readonly SectionSighting[]): SectionSighting | null {
  return sightings.reduce<SectionSighting | null>(
    (worst, one) => ((one.lowV ?? 0) > (worst?.lowV ?? Number.NEGATIVE_INFINITY) ? one : worst),
    null,
  );
}

function sum<Key extends string>(rows: readonly Readonly<Record<Key, number>>[], key: Key): number {
  return rows.reduce((total, row) => total + row[key], 0);
}
