/** `holdfast tubes`: the tube book: where each tube was and for how long, how it reads, and which looks weak. */
import { amongSisters, sisterLevels, Z_FAR } from "../history/among-sisters.ts";
import { type DriftMention, driftSightings } from "../history/drift-sightings.ts";
import { levelsOf } from "../history/level.ts";
import { type SectionSighting, type TubeFinding, tubeFindings } from "../history/tube-findings.ts";
import { type Doubled, doubledSerials, type Stint, stintsOf } from "../history/tube-stints.ts";
import { newestProofs } from "../store/run-index/likes-of.ts";
import type { RunIndex } from "../store/run-index/open-index.ts";
import { type LevelRow, lowsOf } from "../store/run-index/runs-of.ts";
import type { TubeNoteRow } from "../store/run-index/tables.ts";
import {
  driftsOf,
  levelsOfTube,
  type SectionInRun,
  type SectionLevel,
  sectionsOf,
  tubeNotes,
  tubesInRuns,
} from "../store/run-index/tube-rows.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { withFreshIndex } from "./history/fresh-index.ts";
import { statusOfFault } from "./history/status-of-fault.ts";
import { bookLines, tubeLines } from "./history/tube-lines.ts";
import { UsageError } from "./usage-error.ts";

export interface TubesOptions {
  readonly runs: string;
  readonly json: boolean;
  readonly ascii: boolean;
}

/** Everything the book says of all tubes. */
export interface TubeBook {
  readonly stints: readonly Stint[];
  readonly notes: readonly TubeNoteRow[];
  readonly sightings: readonly SectionSighting[];
  readonly mentions: readonly DriftMention[];
  readonly findings: readonly TubeFinding[];
  readonly doubled: readonly Doubled[];
}

/** One page of it. */
export interface TubePage {
  readonly serial: string;
  readonly book: TubeBook;
  readonly sections: readonly SectionInRun[];
  readonly levels: readonly SectionLevel[];
}

/**
 * @param serial one tube's page; null for the whole book
 * @returns 0, or what a fault of the index leaves behind
 * @throws UsageError
 */
export async function tubesCommand(
  serial: string | null,
  options: TubesOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  return statusOfFault(io, () =>
    withFreshIndex(options.runs, io, async (index) => {
      const book = await bookOf(index);
      const lines =
        serial === null
          ? told(book, options, bookLines)
          : told(await pageOf(index, serial, book), options, tubeLines);
      for (const line of lines) io.out(line);
      return EXIT.pass;
    }),
  );
}

function told<Part>(
  part: Part,
  { json, ascii }: TubesOptions,
  lines: (part: Part, ascii: boolean) => string[],
): string[] {
  return json ? [JSON.stringify(part)] : lines(part, ascii);
}

async function bookOf(index: RunIndex): Promise<TubeBook> {
  const rows = await tubesInRuns(index, null);
  const stints = stintsOf(rows);
  const drift = driftSightings(stints, await driftsOf(index));
  const sightings = [...(await sightingsOf(index, stints)), ...drift.sightings];
  return {
    stints,
    notes: await tubeNotes(index, null),
    sightings,
    mentions: drift.mentions,
    findings: tubeFindings(sightings),
    doubled: doubledSerials(rows),
  };
}

async function pageOf(index: RunIndex, serial: string, book: TubeBook): Promise<TubePage> {
  const own = book.stints.filter((stint) => stint.serial === serial);
  const notes = book.notes.filter((note) => note.serial === serial);
  if (own.length === 0 && notes.length === 0) throw noSuchTube(serial, book);
  const runs = own.flatMap((stint) => stint.runs);
  const sockets = new Map(own.flatMap((stint) => stint.runs.map((run) => [run, stint.position])));
  return {
    serial,
    book,
    sections: (await sectionsOf(index, runs)).filter(
      ({ run, position }) => sockets.get(run) === position,
    ),
    levels: await levelsOfTube(index, serial),
  };
}

/** Low levels of each stint's newest proof, among the newest proofs of the other units of its board. */
async function sightingsOf(index: RunIndex, stints: readonly Stint[]): Promise<SectionSighting[]> {
  const proved = stints.flatMap((stint) =>
    stint.proof === null ? [] : [{ ...stint, proof: stint.proof }],
  );
  const proofs = await newestByBoard(index, proved);
  const names = new Set([
    ...proved.map(({ proof }) => proof),
    ...[...proofs.values()].flat().map(({ run }) => run),
  ]);
  const results = byRun(await lowsOf(index, [...names]));
  const sections = byRun(await sectionsOf(index, [...new Set(proved.map(({ proof }) => proof))]));
  const sisters = new Map(
    [...proofs].map(([board, runs]) => [
      board,
      sisterLevels(
        runs.map(({ unit, run }) => ({ unit, levels: levelsOf(results.get(run) ?? []) })),
      ),
    ]),
  );
  return proved.flatMap((stint) => {
    const own = results.get(stint.proof) ?? [];
    const theirs = sisters.get(boardKey(stint)) ?? new Map();
    const among = amongSisters(stint.unit, levelsOf(own), theirs);
    return (sections.get(stint.proof) ?? [])
      .filter(({ position }) => position === stint.position)
      .flatMap(({ section, net }) => {
        const level = among.find(({ channel }) => channel === net);
        return level === undefined ? [] : [sighting(stint, { section, net, level, own })];
      });
  });
}

function sighting(
  { serial, unit, position, proof }: Stint & { readonly proof: string },
  seen: {
    readonly section: string;
    readonly net: string;
    readonly level: ReturnType<typeof amongSisters>[number];
    readonly own: readonly LevelRow[];
  },
): SectionSighting {
  const { section, net, level, own } = seen;
  const result = own.find((one) => one.channel === net);
  const failed = (result?.failed ?? 0) > 0;
  const { volts: lowV, z, units } = level;
  // A weak section pulls its net less far down, so only a high low counts.
  const weak = failed || (z !== null && z > Z_FAR);
  return { serial, unit, position, section, net, run: proof, lowV, z, units, failed, weak };
}

type Board = Pick<Stint, "board" | "revision" | "bench">;

async function newestByBoard(
  index: RunIndex,
  stints: readonly Board[],
): Promise<Map<string, Awaited<ReturnType<typeof newestProofs>>>> {
  const boards = new Map(stints.map((stint) => [boardKey(stint), stint]));
  const newest = new Map<string, Awaited<ReturnType<typeof newestProofs>>>();
  for (const [key, board] of boards) newest.set(key, await newestProofs(index, board));
  return newest;
}

function boardKey({ board, revision, bench }: Board): string {
  return JSON.stringify([board, revision, bench]);
}

function byRun<Row extends { readonly run: string }>(rows: readonly Row[]): Map<string, Row[]> {
  const runs = new Map<string, Row[]>();
  for (const row of rows) {
    const own = runs.get(row.run) ?? [];
    own.push(row);
    runs.set(row.run, own);
  }
  return runs;
}

function noSuchTube(serial: string, { stints }: TubeBook): UsageError {
  const known = [...new Set(stints.map((stint) => stint.serial))].slice(0, 20);
  return new UsageError(
    known.length === 0
      ? `Expected a tube that a unit file names, got "${serial}": no run had a unit file with serials.`
      : `Expected a tube that a unit file names (${known.join(", ")}), got "${serial}".`,
  );
}
