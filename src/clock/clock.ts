/**
 * Time as a part like any other: everything that waits takes a Clock.
 *
 * `setTimeout` and `clearTimeout` have the shape xstate expects of its `clock` option, so one
 * object drives machines and plain code alike.
 */
export interface Clock {
  /** Monotonic milliseconds since an arbitrary origin; never runs backwards. */
  nowMs(): number;
  /** Wall time, ISO 8601 with milliseconds and a UTC offset. For records only, never for durations. */
  wallTime(): string;
  setTimeout(callback: () => void, delayMs: number): unknown;
  clearTimeout(id: unknown): void;
  /**
   * Resolve after `delayMs`.
   *
   * @throws the signal's reason when it aborts first
   */
  delay(delayMs: number, signal?: AbortSignal): Promise<void>;
}
