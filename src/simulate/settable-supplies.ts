/** The supplies of a simulated bench, as ones that can be told their volts. */
import type { SettableSupply } from "../bench/settable-supply.ts";
import type { RailName } from "../events/levels.ts";
import type { PartChange } from "./fixture.ts";

const RAILS: readonly RailName[] = ["heater", "bias", "plate"];

/** @param change puts a change onto the bench now */
export function settableSupplies(change: (change: PartChange) => void): readonly SettableSupply[] {
  return RAILS.map((rail) => ({
    rail,
    setShare: async (share) =>
      change({ part: `supply.${rail}`, parameter: "share", value: share, atMs: null }),
  }));
}
