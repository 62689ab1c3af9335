/** Signals during a proof. None of them ends the program before its outputs are safe. */

const STOP_SIGNALS = ["SIGINT", "SIGTERM", "SIGHUP"] as const;

/**
 * A suspended program cannot feed the controller's dead-man, so the key that suspends is heard and
 * passed over.
 */
const PASSED_OVER = ["SIGTSTP"] as const;

export type StopSignal = (typeof STOP_SIGNALS)[number];

/**
 * Listen until the returned function is called.
 *
 * @param isDetached no terminal belongs to this process, so that a hang-up means nothing to it
 */
export function onStopSignals(stop: (signal: StopSignal) => void, isDetached = false): () => void {
  const isStop = (signal: StopSignal): boolean => !(isDetached && signal === "SIGHUP");
  const listeners: (readonly [NodeJS.Signals, () => void])[] = [
    ...STOP_SIGNALS.map(
      (signal) => [signal, isStop(signal) ? () => stop(signal) : () => undefined] as const,
    ),
    ...PASSED_OVER.map((signal) => [signal, () => undefined] as const),
  ];
  for (const [signal, listener] of listeners) process.on(signal, listener);
  return () => {
    for (const [signal, listener] of listeners) process.off(signal, listener);
  };
}

/** Errors nobody caught, until the returned function is called. */
export function onUncaught(fail: (error: unknown) => void): () => void {
  process.on("uncaughtException", fail);
  process.on("unhandledRejection", fail);
  return () => {
    process.off("uncaughtException", fail);
    process.off("unhandledRejection", fail);
  };
}
