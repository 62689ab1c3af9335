/**
 * Operating errors of the bench: expected, recorded, and each with what to do next.
 *
 * Nothing here is a verdict on a board, and nothing here is a mistake of the program.
 */
import type { BenchErrorCode, BenchErrorFacts } from "./bench-error-facts.ts";
import { benchErrorText } from "./bench-error-text.ts";

export class BenchError<Code extends BenchErrorCode = BenchErrorCode> extends Error {
  readonly code: Code;
  readonly facts: BenchErrorFacts[Code];
  /** One clause, for a status line; `message` is the long form. */
  readonly shortMessage: string;

  /** @param cause the original error, where there is one */
  constructor(code: Code, facts: BenchErrorFacts[Code], cause?: unknown) {
    const text = benchErrorText(code, facts);
    super(text.long, cause === undefined ? undefined : { cause });
    this.name = "BenchError";
    this.code = code;
    this.facts = facts;
    this.shortMessage = text.short;
  }
}

/** Each code with its own facts, so that a switch on `code` narrows `facts`. */
export type AnyBenchError = { [Code in BenchErrorCode]: BenchError<Code> }[BenchErrorCode];

export function isBenchError(value: unknown): value is AnyBenchError {
  return value instanceof BenchError;
}
