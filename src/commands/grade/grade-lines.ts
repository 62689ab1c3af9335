/** A grade in words: counts by position, and what nothing in the sequence would notice. */
import type { Grade, Graded, Outcome } from "../../logic/grade/grade.ts";
import { type Lean, textTable } from "../history/text-table.ts";

const OUTCOMES: readonly Outcome[] = [
  "detected",
  "possibly detected",
  "undetected",
  "untestable",
  "not modelled",
];

export interface GradeWords {
  /** Every fault with its outcome, instead of those that are missed alone. */
  readonly all: boolean;
  /** Such as `sequence flasher-latch-proof: warm-up and one pass`. */
  readonly heading: string;
}

export function gradeLines(graded: Grade, { all, heading }: GradeWords): string[] {
  const { parts, classes, nets, unknownNets, stopCount } = graded;
  return [
    `${heading}, ${stopCount} stops, reading ${nets.join(", ") || "nothing"}.`,
    ...(unknownNets.length === 0
      ? []
      : [
          `Partial: ${unknownNets.join(", ")} are not modelled, and what hangs on them counts as missed.`,
        ]),
    ...(parts.length === 0 ? [] : ["", ...byPosition(graded)]),
    "",
    ...missed(parts.map((one) => ({ ...one, name: one.fault.text }))),
    ...(all
      ? ["", "Every fault of a part, and where it is noticed first:", ...everyPart(graded)]
      : []),
    "",
    `Lines stuck low or high: ${counted(classes)} (classes no test tells apart).`,
    ...classes
      .filter(({ outcome }) => outcome !== "detected")
      .map(({ names: [name = ""], outcome, reason }) => `  ${name}: ${outcome}: ${reason}`),
  ];
}

/** Counts by socket, and within it by part. */
function byPosition({ parts }: Grade): string[] {
  const places = new Map<string, { position: string; part: string; graded: Graded[] }>();
  for (const { fault, ...one } of parts) {
    const key = `${fault.position}\0${fault.part}`;
    const place = places.get(key) ?? { position: fault.position, part: fault.part, graded: [] };
    place.graded.push(one);
    places.set(key, place);
  }
  const rows = [...places.values()].sort(byName).map(({ position, part, graded }) => [
    position,
    part,
    String(graded.length),
    ...OUTCOMES.map((wanted) => {
      const count = graded.filter(({ outcome }) => outcome === wanted).length;
      return count === 0 ? "" : String(count);
    }),
  ]);
  const total = [
    "all",
    "",
    String(parts.length),
    ...OUTCOMES.map((wanted) => String(parts.filter(({ outcome }) => outcome === wanted).length)),
  ];
  const lean: Lean[] = ["left", "left", "right", ...OUTCOMES.map((): Lean => "right")];
  return textTable(["Position", "Part", "Faults", ...OUTCOMES], [...rows, total], lean);
}

function byName(
  a: { readonly position: string; readonly part: string },
  b: { readonly position: string; readonly part: string },
): number {
  const natural = { numeric: true } as const;
  return (
    a.position.localeCompare(b.position, "en", natural) ||
    a.part.localeCompare(b.part, "en", natural)
  );
}

function missed(parts: readonly (Graded & { readonly name: string })[]): string[] {
  const of = (wanted: Outcome) =>
    parts
      .filter(({ outcome }) => outcome === wanted)
      .map(({ name, reason }) => `  ${name} (${reason})`);
  const lists: [heading: string, lines: string[]][] = [
    ["Nothing here would notice:", of("undetected")],
    ["Perhaps noticed, perhaps not:", of("possibly detected")],
    ["No sequence could notice:", of("untestable")],
    ["Logic cannot say:", of("not modelled")],
  ];
  const told = lists.flatMap(([heading, lines]) => (lines.length === 0 ? [] : [heading, ...lines]));
  return told.length === 0 && parts.length > 0 ? ["Every fault of a part is noticed."] : told;
}

function everyPart({ parts }: Grade): string[] {
  const rows = parts.map(({ fault, outcome, first }) => [
    fault.position,
    fault.text,
    outcome,
    first === null ? "" : `${first.label} by ${first.nets.join(", ")}`,
  ]);
  return textTable(["Position", "Fault", "Outcome", "First"], rows, []);
}

function counted(graded: readonly Graded[]): string {
  return OUTCOMES.flatMap((wanted) => {
    const count = graded.filter(({ outcome }) => outcome === wanted).length;
    return count === 0 && wanted !== "detected" ? [] : [`${count} ${wanted}`];
  }).join(", ");
}
