/** What the link of a soak was used for, from its fold. */
import type { SoakSnapshot } from "../journal/soak-snapshot.ts";
import type { LinkUse } from "../verdict/link-coincidence.ts";

export function linkUseOf({ counts, legs }: Pick<SoakSnapshot, "counts" | "legs">): LinkUse {
  const { link, repeats, cyclingMs } = counts;
  const breaks = legs.flatMap(({ end }) => end?.brokeOffMoving ?? []);
  return {
    bytes: link?.bytes ?? 0,
    movingBytes: link?.movingBytes ?? 0,
    movingMs: link?.movingMs ?? 0,
    ms: cyclingMs,
    // Of repeats from before anybody counted what was sent nothing can be said.
    repeats: link === undefined ? 0 : repeats,
    movingRepeats: link?.movingRepeats ?? 0,
    breaks: link === undefined ? 0 : breaks.length,
    movingBreaks: breaks.filter(Boolean).length,
  };
}
