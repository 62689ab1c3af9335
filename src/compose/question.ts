/**
 * A dialogue as data. It is a generator that yields questions and is sent what was typed, so that
 * the answers typed so far are all there is to its state: going back is going again with one answer
 * fewer, and going on another day is going again with those that were kept.
 */

export type Answer<T> =
  | {
      readonly ok: true;
      readonly value: T;
      /** Something worth saying about the answer, such as what a divider covers. */
      readonly remark?: string;
    }
  /** What was expected, as the rest of a sentence that begins with the answer. */
  | { readonly ok: false; readonly why: string };

export interface Question<T> {
  /** The question, short; also the name by which kept answers are known again. */
  readonly about: string;
  /** What a person needs to know to answer: meaning, source, what is usual. */
  readonly why?: string;
  /** What an empty line stands for; null where there must be an answer. */
  readonly byDefault: string | null;
  readonly read: (text: string) => Answer<T>;
}

/** Questions one after another, and what they come to. */
export type Dialogue<T> = Generator<Question<unknown>, T, string>;

/** One question of a dialogue. */
export function* ask<T>(question: Question<T>): Dialogue<T> {
  const text = yield question;
  const answer = question.read(text);
  if (!answer.ok) throw new RangeError(`"${question.about}" was sent an answer it refuses`);
  return answer.value;
}

/** Where a dialogue stands after some answers. */
export type Standing<T> =
  | { readonly kind: "asking"; readonly question: Question<unknown> }
  | {
      readonly kind: "refused";
      readonly question: Question<unknown>;
      /** Which of the answers, counted from 0. */
      readonly index: number;
      readonly why: string;
    }
  | { readonly kind: "complete"; readonly value: T; readonly used: number };

/** Answer from the beginning: an empty text takes the default. Answers too many are not used. */
export function replay<T>(start: () => Dialogue<T>, answers: readonly string[]): Standing<T> {
  const dialogue = start();
  let at = dialogue.next();
  for (const [index, text] of answers.entries()) {
    if (at.done === true) return { kind: "complete", value: at.value, used: index };
    const question = at.value;
    const answer = read(question, text);
    if (!answer.ok) return { kind: "refused", question, index, why: answer.why };
    at = dialogue.next(given(question, text));
  }
  if (at.done === true) return { kind: "complete", value: at.value, used: answers.length };
  return { kind: "asking", question: at.value };
}

/** What one typed line means to a question. */
export function read<T>(question: Question<T>, text: string): Answer<T> {
  if (text.trim() === "" && question.byDefault === null) {
    return { ok: false, why: "expected an answer, this question has no default" };
  }
  return question.read(given(question, text));
}

function given(question: Question<unknown>, text: string): string {
  const typed = text.trim();
  return typed === "" ? (question.byDefault ?? "") : typed;
}
