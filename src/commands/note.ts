/** `holdfast note`: what no run can show, into the notes beside the runs. */
import { readFileSync } from "node:fs";
import { withBaseline, withTubeNote } from "../formats/edit-notes.ts";
import { loadNotes, type TubeNote } from "../formats/notes.schema.ts";
import { problemLines } from "../formats/problem.ts";
import { writeFileAtomically } from "../store/atomic-file.ts";
import { runByName } from "../store/run-index/runs-of.ts";
import { tubesInRuns } from "../store/run-index/tube-rows.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { withFreshIndex } from "./history/fresh-index.ts";
import { notesPath } from "./history/read-notes.ts";
import { statusOfFault } from "./history/status-of-fault.ts";
import { UsageError } from "./usage-error.ts";

export interface AskedNote {
  readonly baseline?: boolean;
  readonly removed?: string;
  readonly retest?: string;
  readonly found?: string;
  readonly note?: string;
  readonly unit?: string;
  readonly position?: string;
}

export interface NoteSurroundings {
  readonly runs: string;
  /** Today, as 2026-05-01. */
  readonly date: string;
  /** Of the settings; null without. */
  readonly initials: string | null;
}

/**
 * @param subject a run with `baseline`, else the serial of a tube
 * @returns 0; what a fault of the index leaves behind
 * @throws UsageError when the note, or the file it would go into, cannot be understood; nothing is written
 */
export async function noteCommand(
  subject: string,
  asked: AskedNote,
  surroundings: NoteSurroundings,
  io: CheckIo,
): Promise<ExitStatus> {
  const { runs } = surroundings;
  return statusOfFault(io, () =>
    withFreshIndex(runs, io, async (index) => {
      const path = notesPath(runs);
      const before = textOf(path);
      if (asked.baseline === true) {
        const run = await runByName(index, subject);
        if (run?.mode !== "proof") {
          throw new UsageError(
            `Expected a proof to be a baseline, got "${subject}". holdfast history UNIT lists its runs.`,
          );
        }
        const { note } = asked;
        write(
          path,
          withBaseline(before, { run: subject, ...(note === undefined ? {} : { note }) }),
        );
        io.out(`${run.unit ?? "Its unit"} is held against ${subject} from now on.`);
      } else {
        write(path, withTubeNote(before, subject, tubeNote(asked, surroundings)));
        const known = await tubesInRuns(index, subject);
        io.out(`Noted of ${subject} in ${path}.`);
        if (known.length === 0) io.out(`No run names a tube ${subject} yet: check the serial.`);
      }
      return EXIT.pass;
    }),
  );
}

function tubeNote(asked: AskedNote, { date, initials }: NoteSurroundings): TubeNote {
  const { removed, retest, note, found, unit, position } = asked;
  if ([removed, retest, note].filter((one) => one !== undefined).length !== 1) {
    throw new UsageError(
      "Expected one of --removed, --retest and --note for a tube, or --baseline for a run.",
    );
  }
  if (found !== undefined && found !== "good" && found !== "weak") {
    throw new UsageError(`Expected --found as good or weak, got "${found}".`);
  }
  return {
    date,
    ...(removed === undefined ? {} : { removed }),
    ...(retest === undefined ? {} : { retest }),
    ...(note === undefined ? {} : { note }),
    ...(found === undefined ? {} : { found }),
    ...(unit === undefined ? {} : { unit }),
    ...(position === undefined ? {} : { position }),
    ...(initials === null ? {} : { by: initials }),
  };
}

function textOf(path: string): string | null {
  try {
    return readFileSync(path, "utf8");
  } catch (error) {
    if (error instanceof Error && "code" in error && error.code === "ENOENT") return null;
    throw error;
  }
}

/** Held to the format first: a note that could not be read again would block every answer. */
function write(path: string, text: string): void {
  const loaded = loadNotes(text, path);
  if (!loaded.ok) {
    throw new UsageError(`Not noted:\n${problemLines(loaded.problems).join("\n")}`);
  }
  try {
    writeFileAtomically(path, text);
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(`Expected to write ${path}, but ${why}. Nothing was noted.`);
  }
}
