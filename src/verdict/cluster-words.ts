/** What the errors of a soak have in common, in sentences. */
import { duration } from "../plan/quantity-words.ts";
import { chanceText, partText } from "./chance-words.ts";
import type { ClusterFinding, ClusterQuestion, ErrorClusters, NotAsked } from "./error-clusters.ts";

const QUESTION: Readonly<Record<ClusterQuestion, string>> = {
  step: "step",
  "time on power": "time since power-up",
  "time of night": "hour of the soak",
  temperature: "temperature",
  "line moved": "lines that moved just before",
  "link repeats": "repeats on the link",
};

const WHY: Readonly<Record<NotAsked, string>> = {
  "did not vary": "it was always the same",
  "not measured": "not measured",
  "same as another": "here the same as another question",
};

/** One sentence each: what crowds where, then what cannot be told apart, then what was looked at. */
export function clusterWords(clusters: ErrorClusters): string[] {
  const { errors, occurrences, findings, together, asked, askedOf, notAsked } = clusters;
  if (errors === 0) return [];
  const cycles = `${errors} wrong ${errors === 1 ? "cycle" : "cycles"}`;
  const seen =
    occurrences === errors
      ? `${cycles}.`
      : `${cycles} at ${occurrences} separate ${occurrences === 1 ? "time" : "times"}: cycles close together count once here.`;
  const looked = `Looked at ${askedOf.map((question) => QUESTION[question]).join(", ")}: ${asked} places in all, and the chances are corrected for that.`;
  const missing = notAsked.map(
    ({ question, why }) => `Not looked at ${QUESTION[question]}: ${WHY[why]}.`,
  );
  const none =
    asked === 0
      ? []
      : [
          "Nothing stands out of what chance would give. With so few occurrences that does not show that there is no pattern.",
        ];
  return [
    seen,
    ...(findings.length === 0 ? none : findings.map(findingWords)),
    ...together.map(
      ([one, other]) =>
        `${capital(QUESTION[one])} went along with ${QUESTION[other]} through this soak: which of the two it is cannot be told from it.`,
    ),
    ...(asked === 0 ? [] : [looked]),
    ...missing,
  ];
}

function findingWords({ question, place, inside, total, share, chance }: ClusterFinding): string {
  const ground = question === "step" || question === "line moved" ? "readings" : "cycles";
  return `${inside} of ${total} came ${placeWords(question, place)}, where ${partText(share)} of the ${ground} were; by chance ${chanceText(chance)}.`;
}

function placeWords(question: ClusterQuestion, place: ClusterFinding["place"]): string {
  if (place.kind === "name") {
    if (question === "link repeats") return "in a cycle in which the link had to repeat";
    if (question === "line moved") return `right after ${place.name} moved`;
    const moved = place.moved.length === 0 ? "" : `, for which ${place.moved.join(", ")} moved`;
    return `in step ${place.name}${moved}`;
  }
  const { low, high } = place;
  const text = (value: number) => valueText(question, value);
  const after = question === "time on power" ? " after power-up" : "";
  if (low === null && high !== null) {
    return question === "temperature"
      ? `below ${text(high)}`
      : `in the first ${text(high)}${after || " of the soak"}`;
  }
  if (low !== null && high === null) {
    return question === "temperature"
      ? `above ${text(low)}`
      : `later than ${text(low)}${after || " into the soak"}`;
  }
  return `between ${text(low ?? 0)} and ${text(high ?? 0)}${question === "temperature" ? "" : after || " into the soak"}`;
}

function valueText(question: ClusterQuestion, value: number): string {
  if (question === "temperature") return `${value.toFixed(1)} degC`;
  return duration(question === "time on power" ? value : value * 3_600_000);
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
