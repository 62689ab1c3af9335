/** Somebody who answers every question: with what was prepared, else with the first text it takes. */
import { type Dialogue, read, replay } from "../../src/compose/question.ts";

export interface Answered<T> {
  readonly value: T;
  readonly answers: readonly string[];
  readonly questions: readonly string[];
}

/**
 * @param prepared answers by question; every other question is answered by the first of `tries`
 *   that is taken, the default (an empty line) among them
 * @returns null when a question takes nothing that is tried, or the dialogue does not end
 */
export function answerAll<T>(
  start: () => Dialogue<T>,
  prepared: Readonly<Record<string, string>>,
  tries: (index: number) => readonly string[] = () => [""],
): Answered<T> | null {
  const answers: string[] = [];
  const questions: string[] = [];
  for (let index = 0; index < 400; index += 1) {
    const standing = replay(start, answers);
    if (standing.kind === "complete") return { value: standing.value, answers, questions };
    if (standing.kind === "refused") throw new Error("an answer that was taken is refused");
    const { question } = standing;
    const wanted = prepared[question.about];
    const candidates = wanted === undefined ? tries(index) : [wanted];
    const taken = candidates.find((text) => read(question, text).ok);
    if (taken === undefined) return null;
    answers.push(taken);
    questions.push(question.about);
  }
  return null;
}
