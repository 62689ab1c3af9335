/** `holdfast write`: a file of a proof by question and answer, checked before it is written. */
import { existsSync, mkdirSync, writeFileSync } from "node:fs";
import { basename, dirname, extname, join, resolve } from "node:path";
import {
  type AtHand,
  COMPOSED_KINDS,
  type ComposedKind,
  compose,
  refusalOf,
} from "../compose/compositions.ts";
import { orMeant } from "../formats/nearest-name.ts";
import { titleNameField } from "../formats/schema-parts.ts";
import { writeFileAtomically } from "../store/atomic-file.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { UsageError } from "./usage-error.ts";
import { answersDraft } from "./write/answers-draft.ts";
import { converse } from "./write/converse.ts";
import { neighbours, problemsOfText } from "./write/neighbours.ts";
import type { Talker } from "./write/talk.ts";

export interface RawWriteOptions {
  readonly board?: string;
  readonly rig?: string;
  readonly overwrite?: boolean;
}

export interface WriteContext {
  readonly talker: Talker;
  readonly error: (line: string) => void;
  /** The day it is, such as 2026-05-01. */
  readonly today: string;
}

/**
 * Ask, check, write.
 *
 * @param place the file, or a folder for it; null for the current folder
 * @returns 0 when the file was written, 4 when the person broke off, else 2
 * @throws UsageError when it cannot be begun
 */
export async function writeCommand(
  { kind: word, place }: { readonly kind: string; readonly place: string | null },
  raw: RawWriteOptions,
  { talker, error, today }: WriteContext,
): Promise<ExitStatus> {
  const kind = kindOf(word);
  const path = pathOf(kind, place);
  const isFree = () => raw.overwrite === true || !existsSync(path);
  if (!isFree()) {
    throw new UsageError(
      `Expected a new file, but ${path} is there already. Name another one, or say --overwrite.`,
    );
  }
  const near = await neighbours(kind, dirname(path), raw);
  const atHand: AtHand = { ...near, name: folderName(path), today };
  const refusal = refusalOf(kind, atHand);
  if (refusal !== null) {
    throw new UsageError(
      `No ${kind} can be made for this board: ${refusal}. Write it by hand, after one of those that ship.`,
    );
  }
  const draft = answersDraft(path);
  const result = await converse({
    start: () => compose(kind, atHand),
    talker,
    error,
    path,
    draft,
    problemsOf: (text) => problemsOfText({ kind, path, text }, near),
  });
  if (result.text === null) return result.status;
  put(path, result.text, raw.overwrite === true);
  draft.drop();
  for (const line of nextWords(kind, path, result.text)) talker.say(line);
  return EXIT.pass;
}

function kindOf(word: string): ComposedKind {
  const kind = COMPOSED_KINDS.find((one) => one === word);
  if (kind !== undefined) return kind;
  const known = COMPOSED_KINDS.join(", ");
  throw new UsageError(
    `Expected one of ${known}, got "${word}": ${orMeant(word, COMPOSED_KINDS, "name one of these")}.`,
  );
}

/** A name without .yaml or .yml is that of a folder, which need not be there yet. */
function pathOf(kind: ComposedKind, place: string | null): string {
  if (place === null) return `${kind}.yaml`;
  return /^\.ya?ml$/i.test(extname(place)) ? place : join(place, `${kind}.yaml`);
}

function folderName(path: string): string | null {
  const name = basename(dirname(resolve(path)));
  return titleNameField("").safeParse(name).success ? name : null;
}

function put(path: string, text: string, overwrite: boolean): void {
  mkdirSync(dirname(path), { recursive: true });
  if (overwrite) {
    writeFileAtomically(path, text);
    return;
  }
  try {
    // Somebody may have put a file there while the questions were answered.
    writeFileSync(path, text, { flag: "wx", flush: true });
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    throw new UsageError(`Expected a new file at ${path}, but ${why}.`);
  }
}

const AFTER: Readonly<Record<ComposedKind, ComposedKind | null>> = {
  board: "rig",
  rig: "circuit",
  circuit: "sequence",
  sequence: null,
  unit: null,
};

/** What to do next: the files that are not there yet, else check and prove. */
function nextWords(kind: ComposedKind, path: string, text: string): string[] {
  const folder = dirname(path);
  // A rig with a controller on a port has no simulated board.
  const isIdle = (one: ComposedKind) =>
    existsSync(join(folder, `${one}.yaml`)) ||
    (one === "circuit" && kind === "rig" && /^bench: \{ kind: port/m.test(text));
  let next = AFTER[kind];
  while (next !== null && isIdle(next)) next = AFTER[next];
  const lines = [`Written: ${path}`];
  if (next !== null) return [...lines, `Next: holdfast write ${next} ${folder}`];
  return [...lines, `Next: holdfast check ${folder}, then holdfast prove ${folder}`];
}
