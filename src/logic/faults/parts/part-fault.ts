/** What can be wrong with a part of a board, and what of it logic can see. */
import type { Netlist } from "../../netlist/netlist.ts";
import type { Fault } from "../fault.ts";

/** In the order in which they are told. */
export const PART_FAULT_KINDS = [
  "no emission",
  "section conducting",
  "plate load open",
  "coupling open",
  "grid return open",
  "input open",
  "feedback open",
  "input shorted",
  "tube missing",
  "nets bridged",
  "supply missing",
] as const;
export type PartFaultKind = (typeof PART_FAULT_KINDS)[number];

/** What stands for a part's fault in the model. */
export type LogicalEffect =
  /** Lines stuck, all of them at once. */
  | { readonly kind: "stuck"; readonly faults: readonly Fault[] }
  /**
   * Nets that pull on each other: another netlist with the same nets. `unknownNets` are inputs of it, after
   * those of the board, that are never known.
   */
  | { readonly kind: "tied"; readonly netlist: Netlist; readonly unknownNets: readonly string[] }
  /** Nothing that logic can follow. */
  | { readonly kind: "not modelled"; readonly reason: string };

export interface PartFault {
  readonly kind: PartFaultKind;
  /** Name on the drawing, such as D2; where the file names none, what it is: `diode of SET into V1a`. */
  readonly part: string;
  /** Stage or socket it belongs to, such as V1a or V1; the rail of a supply. */
  readonly position: string;
  /** `D2 open: V1a does not see SET`. */
  readonly text: string;
  readonly effect: LogicalEffect;
  /** What of it no reading of levels shows; empty when that is nothing. */
  readonly unseen: string;
}
