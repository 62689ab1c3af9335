/** A viewer that hears nothing of the run any more: what it shows is old, and must not look fresh. */
import { durationText } from "./duration-text.ts";

/** The two rows a small screen has room for begin with what matters. */
export function silenceSentence(silentMs: number): string {
  return `Nothing has been written for ${durationText(silentMs)}: the program that makes this run may be gone. What was shown last is old; treat every rail as live until measured by hand.`;
}
