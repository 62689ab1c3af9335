export type EmulationErrorCode = "EMULATION_NOT_MODELLED" | "EMULATION_BAD_HEX";

/**
 * The emulator cannot go on truthfully: the firmware uses something of the chip that is not
 * modelled, or the program image is not sound. Never thrown for what the chip itself would survive.
 */
export class EmulationError extends Error {
  readonly code: EmulationErrorCode;

  constructor(code: EmulationErrorCode, message: string) {
    super(message);
    this.name = "EmulationError";
    this.code = code;
  }
}

export function notModelled(what: string): EmulationError {
  return new EmulationError(
    "EMULATION_NOT_MODELLED",
    `expected firmware that uses modelled parts of the ATmega328P only, got ${what}; ` +
      "see docs/emulator.md for what is modelled",
  );
}
