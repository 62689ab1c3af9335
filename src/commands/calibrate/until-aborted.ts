/** A talk that a stop signal ends, also while nobody types. */
import type { Heard, Talker } from "../write/talk.ts";

/** As the talker, but nothing more is heard once the signal has aborted. */
export function untilAborted(talker: Talker, signal: AbortSignal): Talker {
  return {
    isPerson: talker.isPerson,
    say: (line) => talker.say(line),
    hear: (prompt) =>
      new Promise<Heard>((resolve, reject) => {
        const over = (): void => resolve({ kind: "over" });
        if (signal.aborted) {
          over();
          return;
        }
        signal.addEventListener("abort", over, { once: true });
        talker
          .hear(prompt)
          .then(resolve, reject)
          .finally(() => signal.removeEventListener("abort", over));
      }),
  };
}
