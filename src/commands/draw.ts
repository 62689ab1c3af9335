/** `holdfast draw`: board, rig and sequence as they were read, as text or as one SVG. */
import { writeFileSync } from "node:fs";
import { problemLines } from "../formats/problem.ts";
import { proofSvg } from "../pictures/svg-picture.ts";
import { wiringSvg } from "../pictures/svg-wiring.ts";
import { boardPicture, rigPicture, sequencePicture } from "../pictures/text-picture.ts";
import { wiringParts, wiringRemarks } from "../pictures/wiring-parts.ts";
import { localeIsUtf8 } from "../screen/glyphs.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { filesByRole } from "./files-by-role.ts";
import { type LoadedFiles, type Proof, proofOf } from "./proof-folder.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { UsageError } from "./usage-error.ts";

export interface RawDrawOptions {
  readonly svg?: string;
  readonly ascii?: boolean;
  readonly wiring?: boolean;
  readonly csv?: boolean;
}

/**
 * @param paths a folder, or files told apart by their `format:` line; of files that make no whole
 *   proof each is drawn that can be drawn by itself
 * @returns 0, or 2 after every problem of the files has been said
 * @throws UsageError when there is no such folder, or no place for the SVG
 */
export async function drawCommand(
  paths: readonly string[],
  { svg, ascii, wiring, csv }: RawDrawOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  const [first = "", ...more] = paths;
  const plain = ascii === true || !localeIsUtf8(process.env);
  const isFiles = more.length > 0 || /\.ya?ml$/i.test(first);
  const given = isFiles ? await filesOrProblems(paths, io) : await proofOrProblems(first);
  if (given === null) return EXIT.wrongUsage;
  if (!("plan" in given)) return drawAlone(given, { svg, plain }, io);
  const proof = given;
  if (svg !== undefined) {
    writePicture(svg, wiring === true ? wiringSvg(proof) : proofSvg(proof));
    io.out(`Drawn: ${svg}`);
    return EXIT.pass;
  }
  if (wiring === true) {
    for (const line of csv === true ? partsCsv(proof) : partsText(proof)) io.out(line);
    return EXIT.pass;
  }
  show([boardPicture(proof, plain), rigPicture(proof, plain), sequencePicture(proof, plain)], io);
  return EXIT.pass;
}

/** An SVG of the person's own is not overwritten by a slip of the hand. */
function writePicture(path: string, svg: string): void {
  try {
    writeFileSync(path, svg, { flag: "wx" });
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(`Expected a new file for the picture at "${path}", but ${why}.`);
  }
}

function partsText({ board, rig }: Proof): string[] {
  const parts = wiringParts(rig);
  const width = Math.max(...parts.map(({ part, value }) => `${part} ${value}`.length));
  return [
    `Parts to wire rig ${rig.rig} for board ${rig.board}; reservoirs and bleeders: firmware-protocol/wiring, section 4.`,
    ...parts.map(
      ({ count, part, value, use }) =>
        `${String(count).padStart(3)}  ${`${part} ${value}`.trim().padEnd(width)}  ${use}`,
    ),
    ...wiringRemarks(rig, highestCeilingV(board)),
    "These are the values of the files. They replace neither local codes nor licensed practice.",
  ];
}

function highestCeilingV(board: Proof["board"]): number {
  return Math.max(...Object.values(board.rails).map((rail) => Math.abs(rail?.ceilingV ?? 0)));
}

/** RFC 4180: quoted where a value holds a comma or a quote. */
function partsCsv({ rig }: Proof): string[] {
  const cell = (text: string) => (/[",]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  const rows = wiringParts(rig).map(({ count, part, value, use }) =>
    [String(count), part, value, use].map(cell).join(","),
  );
  return ["count,part,value,use", ...rows];
}

/** A proof where the files make one, else what they are; null after every problem has been said. */
async function filesOrProblems(
  paths: readonly string[],
  io: CheckIo,
): Promise<Proof | LoadedFiles | null> {
  const { loaded, problems } = await filesByRole(paths);
  const result = problems.length > 0 ? null : proofOf(loaded);
  if (result?.ok) return result.proof;
  if (problems.length === 0 && result === null) return loaded;
  for (const line of problemLines(result?.problems ?? problems)) io.error(line);
  return null;
}

/** Board and rig say enough by themselves; a sequence is drawn on its board and rig only. */
function drawAlone(
  { documents: { board, rig } }: LoadedFiles,
  { svg, plain }: { readonly svg: string | undefined; readonly plain: boolean },
  io: CheckIo,
): ExitStatus {
  if (svg !== undefined || (board === undefined && rig === undefined)) {
    throw new UsageError(
      "Expected a folder, or the files of board, rig and sequence, since one is drawn by the others.",
    );
  }
  show(
    [
      ...(board === undefined ? [] : [boardPicture({ board: board.value }, plain)]),
      ...(rig === undefined ? [] : [rigPicture({ rig: rig.value }, plain)]),
    ],
    io,
  );
  return EXIT.pass;
}

function show(parts: readonly string[][], io: CheckIo): void {
  for (const row of parts.flatMap((part, index) => (index === 0 ? part : ["", ...part]))) {
    io.out(row);
  }
}
