/**
 * Resistors for a channel: from what the node does and what its reading may cost, a pair of preferred
 * values, or three with a pull-up for nodes below common; or why there is none.
 */
import type { Divider } from "../events/plan.ts";
import { CODES, rangeV, voltsPerCode } from "./divider.ts";
import {
  chargeSharingSteps,
  clampA,
  inputOhm,
  loadingV,
  openLeadV,
  pinSourceOhm,
  settlingMs,
} from "./divider-facts.ts";
import { preferredBetween, type SeriesName } from "./preferred-values.ts";

interface NodeFacts {
  /** Volts and source resistance of the node in each logic state. */
  readonly low: { readonly volts: number; readonly ohm: number };
  readonly high: { readonly volts: number; readonly ohm: number };
  /** Largest volts the node may ever meet, both signs. */
  readonly faultV: number;
}

export interface DesignChoices {
  readonly node: NodeFacts;
  /** How far the divider may move the node, percent of the distance from low to high. */
  readonly loadingPercent: number;
  readonly referenceV: number;
  readonly series: SeriesName;
  /** At the pin. */
  readonly capacitorNf: number;
}

export interface DividerDesign {
  readonly divider: Divider;
  readonly range: { readonly lowV: number; readonly highV: number };
  readonly stepMv: number;
  /** Volts by which the divider moves the node, in each state. */
  readonly loadingLowV: number;
  readonly loadingHighV: number;
  readonly loadingPercent: number;
  readonly pinSourceOhm: number;
  readonly settlingMs: number;
  readonly chargeSharingSteps: number;
  /** Worst of the fault volts of either sign, controller powered or not. */
  readonly clampMa: number;
  /** Code with the lead broken. */
  readonly openLeadCode: number;
  /** What to know before it is built. */
  readonly remarks: readonly string[];
}

export type DesignResult =
  | { readonly ok: true; readonly design: DividerDesign }
  /** `next` says what to change. */
  | { readonly ok: false; readonly reason: string; readonly next: string };

const TOP_OHM = { least: 1000, most: 10_000_000 };
const BOTTOM_OHM = { least: 100, most: 10_000_000 };
/** Beyond the levels, so that a high that is a little high still reads. */
const HEADROOM = 1.05;
/** Through a pin's clamp (AVR182). */
const CLAMP_MA_MAX = 1;
/** The converter's own wish (DS40001984A, 28.7); beyond it a capacitor has to feed it. */
const PIN_OHM_WISHED = 10_000;
const MEGOHM = 1_000_000;

export function designDivider(choices: DesignChoices): DesignResult {
  const refusal = refusalOf(choices);
  if (refusal !== null) return refusal;
  let nearest: DividerDesign | null = null;
  for (const topOhm of preferredBetween(choices.series, TOP_OHM.least, TOP_OHM.most)) {
    const divider = completed(topOhm, choices);
    if (divider === null) continue;
    const design = described(divider, choices);
    const gentle = design.loadingPercent <= choices.loadingPercent;
    if (gentle && design.clampMa <= CLAMP_MA_MAX) return { ok: true, design };
    nearest = design;
  }
  return nearest === null ? unreadable(choices) : unfit(nearest, choices);
}

function unreadable(choices: DesignChoices): DesignResult {
  return {
    ok: false,
    reason: `No resistors of ${choices.series} between 100 Ohm and 10 MOhm read ${rangeText(choices)}.`,
    next: "Choose a finer series, or put a follower between node and divider.",
  };
}

/** Why the highest resistors there are do not do: loading, or else the fault. */
function unfit(highest: DividerDesign, { node, loadingPercent }: DesignChoices): DesignResult {
  const megohm = `Even ${highest.divider.topOhm / MEGOHM} MOhm`;
  if (highest.loadingPercent > loadingPercent) {
    return {
      ok: false,
      reason: `${megohm} move the node by ${highest.loadingPercent.toFixed(2)} % of its swing, more than ${loadingPercent} %.`,
      next: "Put a follower between node and divider, or allow a larger error and correct for it by the source resistances.",
    };
  }
  return {
    ok: false,
    reason: `${megohm} let ${highest.clampMa.toFixed(2)} mA into the pin's clamp at a fault of ${node.faultV} V, more than ${CLAMP_MA_MAX} mA.`,
    next: "Limit what a fault can put on the node (fuse, surge arrester), or clamp the pin with two diodes of its own; check --fault.",
  };
}

function rangeText({ node }: DesignChoices): string {
  return `${node.low.volts} V to ${node.high.volts} V`;
}

function refusalOf(choices: DesignChoices): DesignResult | null {
  const { low, high } = choices.node;
  if (high.volts <= low.volts) {
    return {
      ok: false,
      reason: `Expected the high level above the low one, got ${low.volts} V and ${high.volts} V.`,
      next: "Exchange them.",
    };
  }
  if (low.volts < 0 && Math.max(low.ohm, high.ohm) >= MEGOHM) {
    return {
      ok: false,
      reason:
        "A divider for volts below common has a pull-up, and pulls a node of a megohm up with it: " +
        "its reading would be of the divider.",
      next: "Read the node through a follower, or read another node of the stage.",
    };
  }
  return null;
}

/** Bottom, and pull-up where the node goes below common, for a top resistor: as low as the range lets them. */
function completed(topOhm: number, { node, referenceV, series }: DesignChoices): Divider | null {
  const highV = Math.max(node.high.volts * HEADROOM, node.high.volts);
  const lowV = Math.min(node.low.volts * HEADROOM, 0);
  const pullUpOhm = lowV < 0 ? largest(series, (topOhm * referenceV) / -lowV) : null;
  if (lowV < 0 && pullUpOhm === null) return null;
  // The pull-up's current is zero with the pin at the reference, so this bound holds with and without.
  const most = highV > referenceV ? (topOhm * referenceV) / (highV - referenceV) : BOTTOM_OHM.most;
  const bottomOhm = largest(series, Math.min(most, BOTTOM_OHM.most));
  return bottomOhm === null ? null : { topOhm, bottomOhm, pullUpOhm };
}

function largest(series: SeriesName, most: number): number | null {
  if (most < BOTTOM_OHM.least) return null;
  const bounded = Math.min(most, BOTTOM_OHM.most);
  return preferredBetween(series, BOTTOM_OHM.least, bounded).at(-1) ?? null;
}

/** Everything that follows from a divider at a node. */
function described(divider: Divider, choices: DesignChoices): DividerDesign {
  const { node, referenceV, capacitorNf } = choices;
  const at = (state: { readonly volts: number; readonly ohm: number }) =>
    loadingV(state.volts, divider, { sourceOhm: state.ohm, referenceV });
  const loadingLowV = at(node.low);
  const loadingHighV = at(node.high);
  const swingV = node.high.volts - node.low.volts;
  const worstV = Math.max(Math.abs(loadingLowV), Math.abs(loadingHighV));
  const nodeOhm = Math.max(node.low.ohm, node.high.ohm);
  const facts = {
    divider,
    range: rangeV(divider, referenceV),
    stepMv: 1000 * voltsPerCode(divider, referenceV),
    loadingLowV,
    loadingHighV,
    loadingPercent: (100 * worstV) / swingV,
    pinSourceOhm: pinSourceOhm(divider, nodeOhm),
    settlingMs: settlingMs(divider, capacitorNf, nodeOhm),
    chargeSharingSteps: chargeSharingSteps(capacitorNf),
    clampMa: worstClampMa(divider, node.faultV, referenceV),
    openLeadCode: Math.floor((CODES * openLeadV(divider, referenceV)) / referenceV),
  };
  return { ...facts, remarks: remarksOn(facts, choices) };
}

function worstClampMa(divider: Divider, faultV: number, referenceV: number): number {
  const sizes = [faultV, -faultV].flatMap((volts) =>
    [referenceV, 0].map((supplyV) => Math.abs(clampA(volts, divider, supplyV))),
  );
  return 1000 * Math.max(...sizes);
}

function remarksOn(
  facts: Omit<DividerDesign, "remarks">,
  { node, referenceV }: DesignChoices,
): string[] {
  const remarks: string[] = [];
  if (facts.pinSourceOhm > PIN_OHM_WISHED && facts.chargeSharingSteps > 0.5) {
    remarks.push(
      `The pin sees ${Math.round(facts.pinSourceOhm / 1000)} kOhm and its capacitor is small: other channels move this one by ${facts.chargeSharingSteps.toFixed(1)} steps. 33 nF or more feed the converter.`,
    );
  }
  const low = Math.abs(facts.loadingLowV);
  const high = Math.abs(facts.loadingHighV);
  if (Math.max(low, high) > 2 * Math.min(low, high)) {
    remarks.push(
      "The loading differs between the two states, so no single factor takes it out of a reading.",
    );
  }
  if (facts.divider.pullUpOhm !== null) {
    const zeroCode = Math.floor(
      (CODES * -facts.range.lowV) / (facts.range.highV - facts.range.lowV),
    );
    remarks.push(
      `A broken lead reads code ${facts.openLeadCode}, and a node at common ${zeroCode}: only a check of the lead tells them apart.`,
    );
  }
  if (node.faultV / inputOhm(facts.divider) > 0.001) {
    remarks.push(
      "At the fault more than 1 mA flows: take two resistors in series for the top one.",
    );
  }
  if (facts.range.highV < node.faultV) {
    remarks.push(
      `Beyond ${facts.range.highV.toFixed(1)} V it only says "at or beyond" (reference ${referenceV} V).`,
    );
  }
  return remarks;
}
