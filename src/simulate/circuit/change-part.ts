/** Faults and wear as changes of one part's value. */
import { type BoardModel, OPEN_SIEMENS } from "./board-model.ts";
import { halfCurrentAt, heaterOhm } from "./cathode.ts";

/**
 * Change one value of a part of the circuit. The caller must disturb the transient afterwards.
 *
 * | Part | Parameters |
 * |---|---|
 * | resistor | `ohm` |
 * | capacitor | `farad` |
 * | diode | `open` 0 or 1, `shorted` 0 or 1 |
 * | triode | `emission` 0..1; `activity` above 0, up to 1: the same, and less still when cooler; `warmUpScale` above 0: factor on the cathode's lag |
 * | heater | `open` 0 or 1, `hotOhm` |
 *
 * @returns false when the circuit has no such part
 * @throws RangeError when the part has no such parameter, or the value is out of its range
 */
export function changePart(
  model: BoardModel,
  change: { readonly part: string; readonly parameter: string; readonly value: number },
): boolean {
  const { part, parameter, value } = change;
  const refuse = (expected: string): never => {
    throw new RangeError(
      `Expected for ${part} ${expected}, got ${parameter} ${value}. Correct the change.`,
    );
  };
  const flag = (): boolean => {
    if (value !== 0 && value !== 1) refuse(`${parameter} 0 or 1`);
    return value === 1;
  };
  const positive = (): number => (value > 0 ? value : refuse(`${parameter} above 0`));

  const triode = model.triodes.find((one) => one.name === part);
  if (triode !== undefined) {
    if (parameter === "emission" && value >= 0 && value <= 1) triode.emission = value;
    else if (parameter === "activity" && value > 0 && value <= 1) {
      triode.halfAt = halfCurrentAt(value);
    } else if (parameter === "warmUpScale") triode.heater.lagS *= positive();
    else refuse("emission 0..1, activity above 0 up to 1, or warmUpScale");
    return true;
  }
  const heater = model.heaters.find((one) => one.name === part);
  if (heater !== undefined) {
    if (parameter === "open") heater.open = flag();
    else if (parameter === "hotOhm") heater.hotOhm = positive();
    else refuse("open or hotOhm");
    const ohm = heaterOhm(heater.hotOhm, heater.wire);
    heater.branch.siemens = heater.open ? OPEN_SIEMENS : 1 / ohm;
    return true;
  }
  const diode = model.diodes.find((one) => one.name === part);
  if (diode !== undefined) {
    if (parameter === "open") diode.state = flag() ? "open" : "sound";
    else if (parameter === "shorted") diode.state = flag() ? "shorted" : "sound";
    else refuse("open or shorted");
    return true;
  }
  const capacitor = model.capacitors.find((one) => one.name === part);
  if (capacitor !== undefined) {
    if (parameter === "farad") capacitor.farad = positive();
    else refuse("farad");
    return true;
  }
  const branch = model.branches.find((one) => one.name === part);
  if (branch === undefined) return false;
  if (parameter === "ohm") branch.siemens = 1 / positive();
  else refuse("ohm");
  return true;
}
