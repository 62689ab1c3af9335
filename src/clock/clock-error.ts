export type ClockErrorCode = "CLOCK_RAN_BACKWARDS" | "CLOCK_BAD_SCALE" | "CLOCK_BAD_DELAY";

/** A clock that cannot be trusted, or was asked for a time that does not exist. */
export class ClockError extends Error {
  readonly code: ClockErrorCode;

  constructor(code: ClockErrorCode, message: string) {
    super(message);
    this.name = "ClockError";
    this.code = code;
  }
}
