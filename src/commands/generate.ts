/**
 * `holdfast generate`: for a board a sequence that proves it, for a netlist vectors; few steps, and word of
 * what they do not find. Energises nothing.
 */
import { writeFileSync } from "node:fs";
import { stat } from "node:fs/promises";
import { join } from "node:path";
import { readBenchNetlist } from "../formats/bench-netlist.ts";
import { type FileProblem, problemLines } from "../formats/problem.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { filesByRole } from "./files-by-role.ts";
import { boardAnswer } from "./generate/board-answer.ts";
import { netlistAnswer } from "./generate/netlist-answer.ts";
import { readProofFile } from "./read-proof-file.ts";
import { UsageError } from "./usage-error.ts";

export interface RawGenerateOptions {
  readonly seed: string;
  readonly steps: string;
  readonly out?: string;
  readonly json?: boolean;
}

export interface GenerateAsk {
  readonly seed: number;
  readonly stepsMost: number;
}

/** What comes of it: the text asked for, the same as one object, and what is to be said beside it. */
export interface GenerateAnswer {
  readonly text: string;
  readonly json: unknown;
  readonly remarks: readonly string[];
  /** Everything that can be found is found by it. */
  readonly complete: boolean;
}

/** An answer, or what keeps it from being given. */
export type GenerateOutcome =
  | { readonly ok: true; readonly answer: GenerateAnswer }
  | { readonly ok: false; readonly problems: readonly FileProblem[] };

const SEED_MOST = 2 ** 32 - 1;
/** As a sequence may have. */
const STEPS_MOST = 10_000;

/**
 * @param paths a folder with board.yaml, and rig.yaml where there is one; files of board and rig; or one
 *   netlist that ends in .bench
 * @returns 0 when everything that can be found is found, 1 when something was neither found nor proved
 *   untestable, 2 after every problem of the files has been said
 * @throws UsageError
 */
export async function generateCommand(
  paths: readonly string[],
  raw: RawGenerateOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  const ask = {
    seed: wholeNumber("--seed", raw.seed, { least: 0, most: SEED_MOST }),
    stepsMost: wholeNumber("--steps", raw.steps, { least: 1, most: STEPS_MOST }),
  };
  const [first = ""] = paths;
  const isNetlist = paths.length === 1 && first.endsWith(".bench");
  const outcome = isNetlist ? await ofNetlist(first, ask) : await ofBoard(paths, ask);
  if (!outcome.ok) {
    for (const line of problemLines(outcome.problems)) io.error(line);
    return EXIT.wrongUsage;
  }
  tell(outcome.answer, raw, io);
  return outcome.answer.complete ? EXIT.pass : EXIT.notPass;
}

function wholeNumber(
  option: string,
  text: string,
  { least, most }: { readonly least: number; readonly most: number },
): number {
  const value = Number(text);
  if (/^\d+$/.test(text) && value >= least && value <= most) return value;
  throw new UsageError(
    `Expected ${option} as a whole number from ${least} to ${most}, got "${text}".`,
  );
}

async function ofNetlist(path: string, ask: GenerateAsk): Promise<GenerateOutcome> {
  const read = await readProofFile(path, "proof");
  if (!read.ok) return read;
  const result = readBenchNetlist(read.file.text, path);
  return result.ok ? { ok: true, answer: netlistAnswer(result.netlist, ask) } : result;
}

async function ofBoard(paths: readonly string[], ask: GenerateAsk): Promise<GenerateOutcome> {
  const { loaded, problems } = await filesByRole(await filesOf(paths));
  if (problems.length > 0) return { ok: false, problems };
  const { board, rig } = loaded.documents;
  if (board === undefined) {
    throw new UsageError(
      "Expected a board: a folder with board.yaml, its file, or a netlist that ends in .bench.",
    );
  }
  return boardAnswer(board, rig ?? null, ask);
}

/** Of a folder its board, and its rig where there is one. */
async function filesOf(paths: readonly string[]): Promise<readonly string[]> {
  const [first = "", ...more] = paths;
  if (more.length > 0 || /\.ya?ml$/i.test(first)) return paths;
  const rig = join(first, "rig.yaml");
  const isThere = await stat(rig).then(
    (found) => found.isFile(),
    () => false,
  );
  return [join(first, "board.yaml"), ...(isThere ? [rig] : [])];
}

function tell(answer: GenerateAnswer, { out, json }: RawGenerateOptions, io: CheckIo): void {
  const text = json === true ? `${JSON.stringify(answer.json)}\n` : answer.text;
  if (out === undefined) {
    for (const line of text.trimEnd().split("\n")) io.out(line);
    if (json !== true) for (const line of answer.remarks) io.error(line);
    return;
  }
  try {
    // A sequence of the person's own is not overwritten by a slip of the hand.
    writeFileSync(out, text, { flag: "wx" });
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(`Expected a new file for the sequence at "${out}", but ${why}.`);
  }
  for (const line of answer.remarks) io.out(line);
  io.out(`Written: ${out}`);
}
