/** A sequence for a board, on its rig where there is one, checked as `check` would check it. */
import { generatedSequenceText } from "../../compose/generated-sequence-text.ts";
import type { Board } from "../../formats/board.schema.ts";
import type { LoadedDocument } from "../../formats/load-document.ts";
import type { Rig } from "../../formats/rig.schema.ts";
import { loadSequence, type Sequence } from "../../formats/sequence.schema.ts";
import { type BoardTest, boardTest } from "../../logic/generate/board/board-test.ts";
import { checkBoardAlone, checkRigOnBoard } from "../../plan/check-alone.ts";
import { resolvePlan } from "../../plan/resolve-plan.ts";
import { usualSettleMs, usualWarmUpMs } from "../../plan/settle-time.ts";
import type { GenerateAsk, GenerateOutcome } from "../generate.ts";
import { factLines } from "./fact-lines.ts";

/** What moves a line in no more than this is no contact. Milliseconds. */
const INSTANT_MS_MOST = 1;
const STEADY_FOR_MS = 3000;

export function boardAnswer(
  board: LoadedDocument<Board>,
  rig: LoadedDocument<Rig> | null,
  ask: GenerateAsk,
): GenerateOutcome {
  const found = rig === null ? checkBoardAlone({ board }) : checkRigOnBoard({ board, rig });
  if (found.length > 0) return { ok: false, problems: found };
  const made = boardTest({
    board: board.value,
    ...ofRig(rig?.value ?? null),
    times: {
      settleMs: usualSettleMs(board.value, rig?.value ?? null),
      warmUpTimeoutMs: usualWarmUpMs(board.value, STEADY_FOR_MS),
      slowestTimeConstantMs: board.value.slowestTimeConstantMs,
    },
    ...ask,
  });
  const text = generatedSequenceText(made.sequence);
  const problems = problemsOf(text, board, rig);
  if (problems.length > 0) return { ok: false, problems };
  const { facts, sequence } = made;
  return {
    ok: true,
    answer: {
      text,
      json: {
        board: board.value.board,
        seed: ask.seed,
        ...facts,
        parts: partsJson(made),
        sequence,
      },
      remarks: [
        ...factLines(facts, "steps"),
        ...partLines(made),
        ...properLines(made, sequence, rig === null),
      ],
      complete: facts.notFound.length === 0,
    },
  };
}

function ofRig(rig: Rig | null) {
  const driven = (rig?.outputs ?? []).flatMap((output) =>
    output.drive === "changeover" ? [output] : [],
  );
  const instant = driven.filter(({ driverMs }) => (driverMs ?? Infinity) <= INSTANT_MS_MOST);
  return {
    read: rig?.channels.flatMap((channel) => ("net" in channel ? [channel.net] : [])) ?? null,
    loads: (rig?.outputs ?? []).flatMap((output) => (output.drive === "load" ? [output.line] : [])),
    instantLines: instant.map(({ line }) => line),
    contactLines:
      rig === null
        ? null
        : driven.filter((output) => !instant.includes(output)).map(({ line }) => line),
  };
}

/** What `check` would say of the file; names and places as in the text that is about to be written. */
function problemsOf(text: string, board: LoadedDocument<Board>, rig: LoadedDocument<Rig> | null) {
  const loaded = loadSequence(text, "generated sequence");
  if (!loaded.ok) return loaded.problems;
  if (rig === null) return [];
  const plan = resolvePlan({ board, rig, sequence: loaded.document, sources: [] });
  return plan.ok ? [] : plan.problems;
}

function partsJson({ parts: { modelled, shown, chanced, missed } }: BoardTest) {
  const texts = (faults: typeof missed) => faults.map(({ text }) => text);
  return { modelled, shown, chanced: texts(chanced), missed: texts(missed) };
}

function partLines({ parts: { modelled, shown, chanced, missed } }: BoardTest): string[] {
  return [
    `Of ${modelled} faults of parts that logic can follow they surely show ${shown}.`,
    ...chanced.map(({ text }) => `Shown or not, as its parts will have it: ${text}.`),
    ...missed.map(({ text }) => `Not shown: ${text}.`),
  ];
}

function properLines(
  { holds, counts, orders, neverLow, notModelled }: BoardTest,
  { soak }: Sequence,
  noRig: boolean,
): string[] {
  const proper = [
    `${holds} hold ${holds === 1 ? "proof" : "proofs"}`,
    `${counts} ${counts === 1 ? "count" : "counts"} driven round`,
    `${orders} ${orders === 1 ? "pair" : "pairs"} of lines in both orders`,
    soak === undefined ? "no soak cycle" : `a soak cycle of ${soak.cycle.length} steps`,
  ];
  return [
    `Besides: ${proper.join(", ")}.`,
    ...(neverLow.length > 0
      ? [`No warm-up pattern was found for ${neverLow.join(", ")}: add one by hand.`]
      : []),
    ...notModelled.map((reason) => `Not modelled: ${reason}.`),
    ...(noRig ? ["No rig: every stage output is taken as read, and no load as connected."] : []),
    "A generated sequence knows the files, not the bench: the usual care with live rails and hot glass stays yours.",
  ];
}
