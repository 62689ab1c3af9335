/**
 * One program to a journal: whoever goes on with a run has it alone, from before it is read until its last
 * line. Two would each cut off what the other sealed.
 */
import { isBenchError } from "../../bench/bench-error.ts";
import { lockFolder, lockPort } from "../../bench/ports/port-lock.ts";
import { UsageError } from "../usage-error.ts";

type Environment = Readonly<Record<string, string | undefined>>;

/**
 * @returns the way to give it up; a program that died gave it up by that
 * @throws UsageError naming the program that has it
 */
export function lockJournal(
  path: string,
  given: { readonly since: string; readonly pid: number; readonly environment: Environment },
  isAlive?: (pid: number) => boolean,
): () => void {
  const { since, pid, environment } = given;
  try {
    const lock = lockPort({
      path,
      folder: lockFolder(environment),
      pid,
      purpose: "a run",
      since,
      ...(isAlive === undefined ? {} : { isAlive }),
    });
    return () => lock.release();
  } catch (error) {
    if (!isBenchError(error) || error.code !== "port-busy") throw error;
    const who = error.facts.holders.join(", ") || "another program";
    throw new UsageError(
      `Expected ${path} to be nobody's, but ${who} is writing it. Attach to that one (holdfast attach), or end it first.`,
    );
  }
}
