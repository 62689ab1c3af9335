/** Sequences of a board walked through the model, for tests. */
import { readdirSync, readFileSync } from "node:fs";
import { loadBoard } from "../../../src/formats/board.schema.ts";
import { documentOf } from "../../../src/formats/load-document.ts";
import { loadRig } from "../../../src/formats/rig.schema.ts";
import { loadSequence } from "../../../src/formats/sequence.schema.ts";
import { causeOf, causeText, levelWord } from "../../../src/logic/expect/causes.ts";
import type { Walked } from "../../../src/logic/expect/walk.ts";
import { cycleOf, type ModelledProof, modelProof } from "../../../src/plan/fill-expected.ts";
import { flattenSteps } from "../../../src/plan/flatten-steps.ts";
import type { ProofDocuments } from "../../../src/plan/proof-documents.ts";
import { PROOF_TEXTS, type ProofTexts } from "../../plan/proof-texts.ts";

export const SHIPPED: readonly string[] = readdirSync("sequences").sort();

export function shippedTexts(name: string): ProofTexts {
  const read = (file: string) => readFileSync(`sequences/${name}/${file}.yaml`, "utf8");
  return { board: read("board"), rig: read("rig"), sequence: read("sequence") };
}

export function documentsOf(texts: ProofTexts): ProofDocuments {
  return {
    board: documentOf(loadBoard(texts.board, "board.yaml")),
    rig: documentOf(loadRig(texts.rig, "rig.yaml")),
    sequence: documentOf(loadSequence(texts.sequence, "sequence.yaml")),
  };
}

export function modelOf(texts: ProofTexts): ModelledProof {
  const documents = documentsOf(texts);
  return modelProof(documents, {
    pass: flattenSteps(documents.sequence.value),
    cycle: cycleOf(documents),
  });
}

/** The small latch of the plan's tests with these steps, and its warm-up if none is given. */
export function latchWith(steps: string, exercise?: string): ProofTexts {
  const head = PROOF_TEXTS.sequence.slice(0, PROOF_TEXTS.sequence.indexOf("steps:"));
  const own = head.replace(/ {2}exercise:\n[\s\S]*/, `  exercise:\n${exercise}\n`);
  return { ...PROOF_TEXTS, sequence: `${exercise === undefined ? head : own}steps:\n${steps}\n` };
}

/** `low`, `high`, or `X: ` and why. */
export function netAt({ logic, walk }: ModelledProof, walked: Walked, name: string): string {
  const { circuit, byPlace: stops } = walk;
  const net = circuit.netOf.get(name) ?? -1;
  const word = levelWord(walked.levels[net] ?? 3);
  if (word !== "X") return word;
  const { unknownNets } = logic;
  return `X: ${causeText(causeOf({ circuit, walked, net, stops, unknownNets }))}`;
}
