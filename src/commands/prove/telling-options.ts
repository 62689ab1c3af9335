/** How a run is told: on a screen, in plain lines or as JSON. Shared by all who show one. */
import type { TubeWord } from "../../formats/settings.schema.ts";
import { localeIsUtf8 } from "../../screen/glyphs.ts";
import { UsageError } from "../usage-error.ts";

export interface TellingOptions {
  readonly output: "screen" | "plain" | "json";
  readonly ascii: boolean;
  readonly colour: boolean;
  /** The terminal's bell stays silent. */
  readonly muted: boolean;
  /** What this bench calls its bottles. */
  readonly word: TubeWord;
}

/** As commander hands them over. */
export interface RawTellingOptions {
  readonly json?: boolean;
  readonly plain?: boolean;
  readonly ascii?: boolean;
  readonly mute?: boolean;
  readonly color: boolean;
  readonly word?: TubeWord;
}

export interface TellingSurroundings {
  readonly environment: Readonly<Record<string, string | undefined>>;
  readonly stdoutIsTerminal: boolean;
}

/** @throws UsageError */
export function readTellingOptions(
  raw: RawTellingOptions,
  { environment, stdoutIsTerminal }: TellingSurroundings,
): TellingOptions {
  if (raw.json && raw.plain) {
    throw new UsageError("Expected one of --json and --plain, got both.");
  }
  // A dumb terminal cannot move its cursor, so a screen would pile up on it.
  const canDraw = stdoutIsTerminal && environment["TERM"] !== "dumb";
  return {
    output: raw.json ? "json" : raw.plain || !canDraw ? "plain" : "screen",
    ascii: raw.ascii === true || !localeIsUtf8(environment),
    colour: raw.color && !environment["NO_COLOR"] && canDraw,
    muted: raw.mute === true,
    word: raw.word ?? "tube",
  };
}
