/** From the first question to the last word: what is to be written, or how the talk ended without. */
import type { Dialogue } from "../../compose/question.ts";
import { type FileProblem, printableText, problemLines } from "../../formats/problem.ts";
import { EXIT, type ExitStatus } from "../exit-status.ts";
import type { AnswersDraft } from "./answers-draft.ts";
import { type KeptAnswer, stillGood, TALK_HELP, type Talker, type Told, talk } from "./talk.ts";

export interface Conversation {
  readonly start: () => Dialogue<string>;
  readonly talker: Talker;
  readonly error: (line: string) => void;
  /** Where the file is to be. */
  readonly path: string;
  readonly draft: AnswersDraft;
  /** What `check` would say of the text. */
  readonly problemsOf: (text: string) => readonly FileProblem[];
}

export type Outcome =
  | { readonly text: string }
  | { readonly text: null; readonly status: ExitStatus };

/** With a person: draft, way back, last word. With a pipe: all answers right, or nothing. */
export async function converse(given: Conversation): Promise<Outcome> {
  return given.talker.isPerson ? withPerson(given) : withPipe(given);
}

async function withPipe({ start, talker, error, problemsOf }: Conversation): Promise<Outcome> {
  const told = await talk(start, talker, { answers: [], keep: () => undefined });
  if (told.kind === "complete") {
    const problems = problemsOf(told.value);
    if (problems.length === 0) return { text: told.value };
    for (const line of problemLines(problems)) error(line);
    error("Nothing was written.");
  } else if (told.kind === "refused") {
    error(`${told.at}: ${printableText(told.answer)}: ${told.why}. Nothing was written.`);
  } else if (told.kind === "broken off") {
    error(`The answers end before "${told.at}". Nothing was written.`);
  } else {
    error("Given up by `!`. Nothing was written.");
  }
  return { text: null, status: EXIT.wrongUsage };
}

async function withPerson(given: Conversation): Promise<Outcome> {
  const { start, talker, path, draft, problemsOf } = given;
  const stopped: Outcome = { text: null, status: EXIT.stopped };
  let answers = await takeUp(stillGood(start, await draft.kept()), talker);
  while (answers !== null) {
    const told: Told<string> = await talk(start, talker, { answers, keep: draft.keep });
    if (told.kind !== "complete") {
      if (told.kind === "broken off") sayBrokenOff(told.answers.length, given);
      else giveUp(given);
      return stopped;
    }
    const problems = problemsOf(told.value);
    for (const line of problemLines(problems)) talker.say(line);
    const wish = await lastWord(path, problems.length, talker);
    if (wish === "write") return { text: told.value };
    if (wish !== "back") {
      if (wish === "over") sayBrokenOff(told.answers.length, given);
      else giveUp(given);
      return stopped;
    }
    answers = told.answers.slice(0, -1);
  }
  return stopped;
}

function sayBrokenOff(count: number, { talker, draft }: Conversation): void {
  talker.say("");
  if (count === 0) {
    talker.say("Broken off before the first answer.");
    return;
  }
  talker.say(`Broken off. ${count} answers are kept in ${draft.path}.`);
  talker.say("The same command goes on there.");
}

function giveUp({ talker, draft }: Conversation): void {
  draft.drop();
  talker.say("Given up, nothing is kept.");
}

async function takeUp(
  kept: readonly KeptAnswer[],
  { say, hear }: Talker,
): Promise<readonly KeptAnswer[] | null> {
  say(TALK_HELP);
  if (kept.length === 0) return [];
  say("");
  const last = kept.at(-1);
  say(`${kept.length} answers are kept from before, the last to "${last?.question}".`);
  for (;;) {
    const heard = await hear("Go on after them? [yes] ");
    if (heard.kind === "over") return null;
    if (/^(y|yes)?$/i.test(heard.text.trim())) return kept;
    if (/^(n|no)$/i.test(heard.text.trim())) return [];
    say("  Expected yes or no.");
  }
}

async function lastWord(
  path: string,
  problemCount: number,
  { say, hear }: Talker,
): Promise<"write" | "back" | "give up" | "over"> {
  say("");
  const question =
    problemCount === 0
      ? `Write ${path}? [yes] `
      : `Write ${path} all the same, to mend it by hand? [< goes back] `;
  for (;;) {
    const heard = await hear(question);
    if (heard.kind === "over") return "over";
    const typed = heard.text.trim().toLowerCase();
    if (typed === "<" || (typed === "" && problemCount > 0)) return "back";
    if (typed === "!" || typed === "no" || typed === "n") return "give up";
    if (/^(y|yes)?$/.test(typed)) return "write";
    say("  Expected yes, < to go back, or ! to give up.");
  }
}
