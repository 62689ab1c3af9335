import type { Clock } from "./clock.ts";

/**
 * The `delay` of a clock, built on its own timers so that every clock aborts alike.
 *
 * @throws the signal's reason when it aborts first
 */
export function abortableDelay(
  clock: Pick<Clock, "setTimeout" | "clearTimeout">,
  delayMs: number,
  signal?: AbortSignal,
): Promise<void> {
  return new Promise((resolve, reject) => {
    if (signal?.aborted) {
      reject(signal.reason);
      return;
    }
    const onAbort = (): void => {
      clock.clearTimeout(id);
      reject(signal?.reason);
    };
    const id = clock.setTimeout(() => {
      signal?.removeEventListener("abort", onAbort);
      resolve();
    }, delayMs);
    signal?.addEventListener("abort", onAbort, { once: true });
  });
}
