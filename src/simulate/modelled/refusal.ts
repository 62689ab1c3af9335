/** Error numbers of the wire with their texts (firmware-protocol/PROTOCOL.md, section 11). */

const TEXTS: Readonly<Record<number, string>> = {
  0: "No error",
  [-100]: "Command error",
  [-101]: "Invalid character",
  [-102]: "Syntax error",
  [-104]: "Data type error",
  [-108]: "Parameter not allowed",
  [-109]: "Missing parameter",
  [-113]: "Undefined header",
  [-121]: "Invalid character in number",
  [-123]: "Exponent too large",
  [-138]: "Suffix not allowed",
  [-171]: "Invalid expression",
  [-222]: "Data out of range",
  [-223]: "Too much data",
  [-350]: "Queue overflow",
  [-430]: "Query DEADLOCKED",
  [-440]: "Query UNTERMINATED after indefinite response",
  101: "Trip latched",
  102: "Dead-man fired",
  103: "Bias outside its armed window",
  104: "Heater not on",
  105: "Trips not armed",
  106: "Scan too old to feed",
  107: "Receive overrun",
  108: "Checksum mismatch",
  109: "Line too long",
  110: "Plate is on",
  111: "Outputs are on",
  112: "Ordered off running",
  113: "Timed work running",
  114: "Block empty",
  115: "Stored block damaged",
  116: "Stored block disagrees",
};

/** Thrown by whatever refuses a command. */
export class Refusal extends Error {
  readonly number: number;

  constructor(number: number) {
    super(errorText(number));
    this.name = "Refusal";
    this.number = number;
  }
}

/** `-113,"Undefined header"`. */
export function errorText(number: number): string {
  return `${number},"${TEXTS[number] ?? ""}"`;
}
