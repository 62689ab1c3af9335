/** Questions put to a person or to a pipe of answers, one line each. */
import { type Dialogue, type Question, read, replay } from "../../compose/question.ts";
import { wrapWords } from "../../screen/text-line.ts";

export type Heard =
  | { readonly kind: "line"; readonly text: string }
  /** No more lines: the pipe is empty, the terminal is gone, or Ctrl-C or Ctrl-D was pressed. */
  | { readonly kind: "over" };

export interface Talker {
  readonly say: (line: string) => void;
  /** Show the prompt and wait for a line. */
  readonly hear: (prompt: string) => Promise<Heard>;
  /** False for a pipe: a refused answer then ends the talk, since the next line answers another question. */
  readonly isPerson: boolean;
}

export interface KeptAnswer {
  readonly question: string;
  readonly answer: string;
}

export type Told<T> =
  | { readonly kind: "complete"; readonly value: T; readonly answers: readonly KeptAnswer[] }
  | { readonly kind: "cancelled" }
  | { readonly kind: "broken off"; readonly at: string; readonly answers: readonly KeptAnswer[] }
  | {
      readonly kind: "refused";
      readonly at: string;
      readonly answer: string;
      readonly why: string;
    };

export const TALK_HELP =
  "Enter takes what stands in [brackets]; < goes back; ! gives up, nothing is kept.";

const COLUMNS = 78;

/**
 * Ask until the dialogue is complete, going on after the answers given.
 *
 * @param keep called with all answers so far after each one, so that none is lost
 */
export async function talk<T>(
  start: () => Dialogue<T>,
  talker: Talker,
  given: {
    readonly answers: readonly KeptAnswer[];
    readonly keep: (answers: readonly KeptAnswer[]) => void;
  },
): Promise<Told<T>> {
  const { say, hear, isPerson } = talker;
  const answers = [...given.answers];
  let explained: string | null = null;
  for (;;) {
    const standing = replay(
      start,
      answers.map(({ answer }) => answer),
    );
    if (standing.kind === "complete") return { kind: "complete", value: standing.value, answers };
    if (standing.kind === "refused") throw new RangeError("an answer that was taken is refused");
    const { question } = standing;
    if (isPerson && explained !== question.about) explain(question, say);
    explained = question.about;
    const heard = await hear(promptOf(question));
    if (heard.kind === "over") return { kind: "broken off", at: question.about, answers };
    const typed = heard.text.trim();
    if (typed === "!") return { kind: "cancelled" };
    if (typed === "<") {
      if (answers.pop() === undefined) say("  This is the first question.");
      given.keep(answers);
      continue;
    }
    if (typed === "?") {
      explain(question, say);
      say(`  ${TALK_HELP}`);
      continue;
    }
    const answer = read(question, typed);
    if (!answer.ok) {
      if (!isPerson) {
        return { kind: "refused", at: question.about, answer: typed, why: answer.why };
      }
      for (const row of wrapWords(`Not taken: ${answer.why}.`, COLUMNS)) say(`  ${row}`);
      continue;
    }
    if (answer.remark !== undefined) say(`  ${answer.remark}`);
    answers.push({ question: question.about, answer: typed });
    given.keep(answers);
  }
}

/** As many of the kept answers as the questions of today still ask for and take. */
export function stillGood<T>(
  start: () => Dialogue<T>,
  kept: readonly KeptAnswer[],
): readonly KeptAnswer[] {
  const good: KeptAnswer[] = [];
  for (const one of kept) {
    const standing = replay(
      start,
      good.map(({ answer }) => answer),
    );
    if (standing.kind !== "asking" || standing.question.about !== one.question) break;
    if (!read(standing.question, one.answer).ok) break;
    good.push(one);
  }
  return good;
}

function explain(question: Question<unknown>, say: (line: string) => void): void {
  say("");
  for (const row of wrapWords(question.why ?? "", COLUMNS)) say(`  ${row}`);
}

function promptOf({ about, byDefault }: Question<unknown>): string {
  if (byDefault === null) return `${about}: `;
  const ask = about.endsWith("?") ? about : `${about}:`;
  return `${ask} [${byDefault === "" ? "none" : byDefault}] `;
}
