/**
 * From where a person looks at a run: at its own screen, attached to it from another terminal with the
 * same keys, or looking on without any that reaches it.
 */
export type Seat = "own" | "attached" | "looking on";

/** Detail of a stop that stops nothing: the person leaves, the run goes on. */
export const LEAVE = "leave";
