/** What a run was made on, as far as a record may say: which port it was is a matter of that host. */

export type BenchKind = "emulated" | "modelled" | "port";

/** @param bench as the opening of a run names it */
export function benchKind(bench: string | undefined): BenchKind {
  if (bench?.startsWith("emulated")) return "emulated";
  return bench?.startsWith("modelled") ? "modelled" : "port";
}
