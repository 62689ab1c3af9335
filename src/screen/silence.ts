/** A viewer that hears nothing of the run any more: what it shows is old, and must not look fresh. */
import { durationText } from "./duration-text.ts";

/** Short enough to stand whole beside the tall word on a screen of 80 columns. */
export function silenceSentence(silentMs: number): string {
  return `Nothing has been written for ${durationText(silentMs)}; its program may be gone. What is shown is old: treat every rail as live.`;
}
