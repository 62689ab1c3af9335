/** The command line first, then the settings, then what is usual. */
import type { Settings, TubeWord } from "../../formats/settings.schema.ts";

export const DEFAULT_RUNS = "runs";

interface Asked {
  readonly runs?: string;
  readonly ascii?: boolean;
  readonly color?: boolean;
  readonly mute?: boolean;
}

/** What was asked, filled up from the settings; `color` is false only where somebody said so. */
export function withSettings<Raw extends Asked>(
  raw: Raw,
  settings: Settings,
): Raw & { readonly runs: string; readonly color: boolean; readonly word: TubeWord } {
  const { ascii, mute, colour, word } = settings;
  return {
    ...raw,
    ...(raw.ascii === undefined && ascii !== undefined ? { ascii } : {}),
    ...(raw.mute === undefined && mute !== undefined ? { mute } : {}),
    runs: raw.runs ?? settings.runs ?? DEFAULT_RUNS,
    word: word ?? "tube",
    color: raw.color !== false && colour !== false,
  };
}

/** A sentence in the word that this bench has for its bottles. */
export function spoken(text: string, word: TubeWord): string {
  return word === "valve" ? text.replace(/\b([Tt])ube(s?)\b/g, valve) : text;
}

function valve(_: string, letter: string, plural: string): string {
  return `${letter === "T" ? "V" : "v"}alve${plural}`;
}
