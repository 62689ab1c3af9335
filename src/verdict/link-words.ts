/** What the link of a soak came to, in sentences. */
import { chanceText, partText } from "./chance-words.ts";
import type { Coincidence, LinkCoincidence } from "./link-coincidence.ts";

/** Rarer than this it is told as more than chance: two questions are asked of a soak. */
const CHANCE_MAX = 0.005;

/** None where the link was never asked twice and never broke. */
export function linkWords({ repeats, breaks }: LinkCoincidence): string[] {
  const stands = [repeats, breaks].some((one) => one !== null && one.chance <= CHANCE_MAX);
  const seen = [
    ...(repeats === null
      ? []
      : [`${times(repeats)} an exchange had to be asked again, ${whereWords(repeats, "bytes")}`]),
    ...(breaks === null ? [] : [`${times(breaks)} the link broke, ${whereWords(breaks, "time")}`]),
  ].map((one) => `${one}.`);
  if (seen.length === 0) return [];
  return [
    ...seen,
    stands
      ? "Relays disturb the link: look at the diode or snubber of each coil, feed coils apart from the controller, and keep the cable away from contacts (common practice)."
      : "That is no more than chance would give.",
  ];
}

function times({ count }: Coincidence): string {
  return count === 1 ? "Once" : `${count} times`;
}

function whereWords({ count, moving, share, chance }: Coincidence, of: "bytes" | "time"): string {
  const those =
    count === 1
      ? moving === 1
        ? "while relays moved"
        : "while none moved"
      : `${moving} of them while relays moved`;
  const part =
    of === "bytes"
      ? `to which ${partText(share)} of what went over it belongs`
      : `which they do in ${partText(share)} of the time`;
  return `${those}, ${part}; by chance ${chanceText(chance)}`;
}
