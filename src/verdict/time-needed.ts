/** A time that something takes, rounded up to whole minutes: whoever plans by it must not come short. */
import { duration } from "../plan/quantity-words.ts";

const MINUTE_MS = 60_000;

export function timeNeeded(ms: number): string {
  return duration(ms < MINUTE_MS ? ms : Math.ceil(ms / MINUTE_MS) * MINUTE_MS);
}
