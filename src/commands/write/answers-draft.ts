/** Answers kept beside the file they are for, after each one, until that file is written. */
import { existsSync, mkdirSync, rmdirSync, rmSync } from "node:fs";
import { dirname } from "node:path";
import { z } from "zod";
import { loadDocument } from "../../formats/load-document.ts";
import { problemLines } from "../../formats/problem.ts";
import { writeFileAtomically } from "../../store/atomic-file.ts";
import { readProofFile } from "../read-proof-file.ts";
import { UsageError } from "../usage-error.ts";
import type { KeptAnswer } from "./talk.ts";

const draftSchema = z.strictObject({
  format: z.literal("holdfast-answers").describe("Name of this format."),
  version: z.literal(1).describe("Version of this format."),
  answers: z
    .array(
      z.strictObject({
        question: z.string().describe("What was asked."),
        answer: z.string().describe("What was typed; empty where the default was taken."),
      }),
    )
    .describe("In the order in which they were asked."),
});

export interface AnswersDraft {
  readonly path: string;
  /** What was kept before; empty when nothing was. */
  readonly kept: () => Promise<readonly KeptAnswer[]>;
  readonly keep: (answers: readonly KeptAnswer[]) => void;
  /** The draft, and the folder made for it if that is empty, are gone. */
  readonly drop: () => void;
}

export function answersDraft(path: string): AnswersDraft {
  const folder = dirname(path);
  const draft = `${path}.draft`;
  let madeFolder = false;
  return {
    path: draft,
    kept: async () => {
      if (!existsSync(draft)) return [];
      const read = await readProofFile(draft, "proof");
      const loaded = read.ok ? loadDocument(read.file.text, draft, draftSchema) : read;
      if (loaded.ok) return loaded.document.value.answers;
      throw new UsageError(
        `${problemLines(loaded.problems).join("\n")}\nRemove ${draft} to begin anew.`,
      );
    },
    keep: (answers) => {
      if (!existsSync(folder)) {
        mkdirSync(folder, { recursive: true });
        madeFolder = true;
      }
      const document = { format: "holdfast-answers", version: 1, answers };
      writeFileAtomically(draft, `${JSON.stringify(document, null, 1)}\n`);
    },
    drop: () => {
      rmSync(draft, { force: true });
      if (madeFolder) removeIfEmpty(folder);
    },
  };
}

function removeIfEmpty(folder: string): void {
  try {
    rmdirSync(folder);
  } catch (error) {
    // What a person has put there since stays there.
    if (!(error instanceof Error && "code" in error && error.code === "ENOTEMPTY")) throw error;
  }
}
