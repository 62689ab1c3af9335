/** One turn of a state that goes on until a person, or the clock, has had enough. */
import type { Ending } from "./ending.ts";

/** `over` with null leaves the reason of the run as it stands. */
export type Turn =
  | { readonly kind: "goes on" }
  | { readonly kind: "over"; readonly ending: Ending | null };

export const GOES_ON: Turn = { kind: "goes on" };
export const OVER: Turn = { kind: "over", ending: null };
