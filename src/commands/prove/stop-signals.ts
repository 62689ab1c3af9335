/** Signals that ask for a stop. None of them ends the program before its outputs are safe. */

const STOP_SIGNALS = ["SIGINT", "SIGTERM", "SIGHUP"] as const;

export type StopSignal = (typeof STOP_SIGNALS)[number];

/**
 * Listen until the returned function is called. A second signal is heard and changes nothing: the
 * way to safe outputs is never skipped.
 */
export function onStopSignals(stop: (signal: StopSignal) => void): () => void {
  const listeners = STOP_SIGNALS.map((signal) => ({ signal, listener: () => stop(signal) }));
  for (const { signal, listener } of listeners) process.on(signal, listener);
  return () => {
    for (const { signal, listener } of listeners) process.off(signal, listener);
  };
}
