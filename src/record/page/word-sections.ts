/** The parts of a page that are words and tables. */

import type { Plan } from "../../events/plan.ts";
import { stagePlace } from "../../events/stage-place.ts";
import type { AcceptanceRecord } from "../acceptance-record.ts";
import { blanksOf } from "../blanks.ts";
import { notShownLines, shownLines } from "../record-lines.ts";
import { conditionLines, methodLines, rigLines } from "../report-lines.ts";
import { type Html, list, paragraph, type Section, table, titled } from "./html.ts";
import { budgetTable, readingTable } from "./result-tables.ts";

export function shownSection(record: AcceptanceRecord): Section {
  return {
    id: "shown",
    title: "What was shown, and what was not",
    parts: [
      list(shownLines(record)),
      ...titled("Not shown", notShownLines(record)),
      ...titled("Departures from the method", record.departures),
      ...titled("Left blank", blanksOf(record)),
    ],
  };
}

export function tableSections(record: AcceptanceRecord): Section[] {
  // A soak reads in cycles, and takes no step of the proof.
  if (record.mode === "soak") return [];
  return [{ id: "results", title: "Every result", parts: [readingTable(record)] }];
}

export function aboutSections(record: AcceptanceRecord, plan: Plan): Section[] {
  return [
    { id: "unit", title: "Unit and board", parts: unitParts(record) },
    {
      id: "method",
      title: "Method, rig and conditions",
      parts: [
        ...titled("Method and limits", methodLines(record)),
        ...titled("Rig", rigLines(record)),
        ...titled("Conditions", conditionLines(record)),
        ...titled("Remarked on meanwhile", record.remarks),
      ],
    },
    { id: "uncertainty", title: "Uncertainty", parts: uncertaintyParts(record) },
    { id: "cautions", title: "Cautions for whoever repeats this", parts: [list(plan.cautions)] },
    { id: "files", title: "Files and journal", parts: fileParts(record) },
    { id: "not", title: "What this is not", parts: [list(record.statements)] },
  ];
}

function unitParts({ unitSheet, stages = [] }: AcceptanceRecord): Html[] {
  return [
    table({
      caption: "Tubes by position",
      columns: [{ title: "Position" }, { title: "Tube" }, { title: "Serial" }],
      rows: (unitSheet?.tubes ?? []).map(({ position, tube, serial }) => [
        position,
        tube,
        serial ?? "not marked",
      ]),
    }),
    table({
      caption: "Cold checks before power",
      columns: [{ title: "Check" }, { title: "Found" }, { title: "By" }],
      rows: (unitSheet?.coldChecks ?? []).map(({ check, value, by }) => [
        check,
        value ?? "LEFT BLANK",
        by ?? "–",
      ]),
      marked: (row) => row[1] === "LEFT BLANK",
    }),
    table({
      caption: "Stages of the board",
      columns: [
        { title: "Stage" },
        { title: "Kind" },
        { title: "Section" },
        { title: "Takes" },
        { title: "Drives" },
      ],
      rows: stages.map((stage) => [
        stage.stage,
        stage.type,
        stagePlace(stage) ?? "no tube",
        stage.inputs.join(", "),
        stage.output,
      ]),
    }),
  ];
}

function uncertaintyParts(record: AcceptanceRecord): Html[] {
  if (record.rule.uncertainty !== "evaluated") return [paragraph("Uncertainty was not evaluated.")];
  return [
    paragraph(
      "U is the expanded uncertainty for 95 % (JCGM 100:2008); u of each term is a standard uncertainty.",
    ),
    budgetTable(record),
  ];
}

function fileParts({ files, journal }: AcceptanceRecord): Html[] {
  return [
    table({
      caption: "Files of the method, by their SHA-256",
      columns: [{ title: "Role" }, { title: "Name" }, { title: "SHA-256" }],
      rows: files.map(({ role, name, sha256 }) => [role, name, sha256]),
    }),
    paragraph(
      `The journal beside this page has ${journal.lines} lines (${journal.format}, version ${journal.version}); the SHA-256 of its last line is ${journal.lastHash}.`,
    ),
  ];
}
