/** Which commands of the wire move relays: what disturbs a link often does so at that moment. */

const STEP = "MEAS:STEP? ";
const MOVES = /^(?:ROUT:(?:CLOS \(|OPEN|SET |PULS |STAG )|BLOC:RUN |MEAS:BURS )/;

/** @param body of a command, as it is sent */
export function movesRelays(body: string): boolean {
  // A step with the mask 0 drives no line and only reads.
  if (body.startsWith(STEP)) return body[STEP.length] !== "0";
  return MOVES.test(body);
}
