/**
 * What a divider takes off the net it reads: in each state another amount, because a plate stands behind
 * its load alone when it is cut off and behind load and tube together when it conducts.
 */
import type { LevelClass } from "../../events/levels.ts";
import type { Divider, PlannedSource } from "../../events/plan.ts";
import { inputOhm, openLeadV } from "../divider-facts.ts";
import { normalTerm, rectangularTerm, type UncertaintyTerm } from "./term.ts";

/**
 * Taken where the board file does not say: plate loads of small triodes at low supplies are 100 k at
 * most (common practice).
 */
const UNKNOWN_SOURCE_OHM = 100_000;

export interface Loading {
  /** To be added to the reading to have the net as it is without the divider, volts. */
  readonly correctionV: number;
  /** By how much the correction magnifies whatever the reading is off by already. */
  readonly factor: number;
  readonly term: UncertaintyTerm;
}

/**
 * @param volts      as read, with the divider on the net
 * @param found      class of these volts; between is anywhere from one state to the other
 * @param referenceV where a pull-up draws to
 */
export function loadingOf(
  volts: number,
  found: LevelClass,
  divider: Divider,
  {
    source,
    referenceV,
  }: { readonly source: PlannedSource | undefined; readonly referenceV: number },
): Loading {
  const perOhm = (volts - openLeadV(divider, referenceV)) / inputOhm(divider);
  if (source === undefined) {
    const basis = `source not known, ${UNKNOWN_SOURCE_OHM / 1000} k at most`;
    const halfV = Math.abs(perOhm) * UNKNOWN_SOURCE_OHM;
    return { correctionV: 0, factor: 1, term: rectangularTerm("loading", halfV, basis) };
  }
  const { lowOhm, highOhm, part } = source;
  if (found === "between") {
    // One of two, and not somewhere in the middle: half their distance is the standard deviation.
    const apart = Math.abs(highOhm - lowOhm) / 2;
    const known = (part * Math.max(lowOhm, highOhm)) / Math.sqrt(3);
    const basis = `${kiloText(lowOhm)} or ${kiloText(highOhm)}, state not known`;
    return {
      correctionV: (perOhm * (lowOhm + highOhm)) / 2,
      factor: 1 + (lowOhm + highOhm) / 2 / inputOhm(divider),
      term: normalTerm("loading", Math.abs(perOhm) * Math.hypot(apart, known), basis),
    };
  }
  const ohm = found === "low" ? lowOhm : highOhm;
  const basis = `${kiloText(ohm)} ±${Math.round(100 * part)} % while ${found}, corrected`;
  return {
    correctionV: perOhm * ohm,
    factor: 1 + ohm / inputOhm(divider),
    term: rectangularTerm("loading", Math.abs(perOhm) * ohm * part, basis),
  };
}

function kiloText(ohm: number): string {
  return `${Number((ohm / 1000).toPrecision(3))} k`;
}
