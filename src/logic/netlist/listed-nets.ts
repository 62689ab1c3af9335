/** Net names inside a sentence: a reason of a large board must stay one that a person reads. */

const NETS_TOLD = 3;

/** `Q, QN and M`; of more than four the first three, and a count of the others. */
export function listedNets(names: readonly string[]): string {
  // One more name is no longer than "1 more".
  const told = names.length > NETS_TOLD + 1 ? names.slice(0, NETS_TOLD) : names.slice(0, -1);
  const last = told.length < names.length - 1 ? `${names.length - told.length} more` : names.at(-1);
  return told.length === 0 ? (last ?? "") : `${told.join(", ")} and ${last}`;
}
