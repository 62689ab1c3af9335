/** Which commands of the wire move relays: what disturbs a link often does so at that moment. */

const MOVES = /^(?:ROUT:(?:CLOS \(|OPEN|SET |PULS |STAG )|BLOC:RUN |MEAS:BURS )/;
const STEP = /^MEAS:STEP\? (\d+),/;

/** @param body of a command, as it is sent */
export function movesRelays(body: string): boolean {
  const step = STEP.exec(body);
  // A step that drives no line only reads.
  return step === null ? MOVES.test(body) : step[1] !== "0";
}
