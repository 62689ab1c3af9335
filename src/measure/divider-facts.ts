/**
 * What a divider before the converter does, by Kirchhoff's laws: loading of the node, current into the
 * pin's clamp, settling. Sources of limits: ATmega328/P data sheet DS40001984A; AVR182 for the clamp.
 */
import type { Divider } from "../events/plan.ts";
import { CODES } from "./divider.ts";

/** Beyond its supply by this much a pin's clamp conducts (DS40001984A, table 32-1). */
const CLAMP_V = 0.5;
/** Half a step of ten bits: 11 ln 2 time constants. */
const HALF_STEP_TAUS = 11 * Math.LN2;
/** Of the converter, farads times 1e9 (7810D, 23.6.1). */
const HOLD_CAPACITOR_NF = 0.014;

/** What the node sees to where the divider's far ends are tied: top in series with bottom beside pull-up. */
export function inputOhm({ topOhm, bottomOhm, pullUpOhm }: Divider): number {
  return topOhm + beside(bottomOhm, pullUpOhm);
}

/** What the pin sees with the node held still, ohms. */
export function pinSourceOhm({ topOhm, bottomOhm, pullUpOhm }: Divider, nodeOhm = 0): number {
  return 1 / (1 / (topOhm + nodeOhm) + 1 / beside(bottomOhm, pullUpOhm));
}

/**
 * By how much connecting the divider moves a node of this source resistance, volts: towards common, or
 * with a pull-up towards what that makes of the open pin.
 */
export function loadingV(
  nodeV: number,
  divider: Divider,
  at: { readonly sourceOhm: number; readonly referenceV: number },
): number {
  const towardsV = openLeadV(divider, at.referenceV);
  return ((towardsV - nodeV) * at.sourceOhm) / (at.sourceOhm + inputOhm(divider));
}

/** Pin volts with the lead to the node broken. */
export function openLeadV({ bottomOhm, pullUpOhm }: Divider, referenceV: number): number {
  return pullUpOhm === null ? 0 : (referenceV * bottomOhm) / (bottomOhm + pullUpOhm);
}

/**
 * Current into the pin's clamp while the node stands at a fault, amperes: positive into the upper clamp,
 * negative out of the lower, 0 where the pin stays inside.
 *
 * @param supplyV of the controller; 0 when it is not powered
 */
export function clampA(nodeV: number, divider: Divider, supplyV: number): number {
  const { topOhm, bottomOhm, pullUpOhm } = divider;
  const into = (pinV: number): number =>
    (nodeV - pinV) / topOhm -
    pinV / bottomOhm +
    (pullUpOhm === null ? 0 : (supplyV - pinV) / pullUpOhm);
  const upper = into(supplyV + CLAMP_V);
  if (upper > 0) return upper;
  return Math.min(into(-CLAMP_V), 0);
}

/** Until the pin is within half a step after a full change of the node, ms. */
export function settlingMs(divider: Divider, capacitorNf: number, nodeOhm = 0): number {
  return (HALF_STEP_TAUS * pinSourceOhm(divider, nodeOhm) * capacitorNf) / 1e6;
}

/** Steps by which the hold capacitor of another channel moves the pin at a visit. */
export function chargeSharingSteps(capacitorNf: number): number {
  return (CODES * HOLD_CAPACITOR_NF) / (capacitorNf + HOLD_CAPACITOR_NF);
}

function beside(ohm: number, other: number | null): number {
  return other === null ? ohm : 1 / (1 / ohm + 1 / other);
}
