/** After which ends a soak may power up again by itself, where that was chosen beforehand. */
import type { EndCause } from "../events/events.ts";
import type { GoOnAfter } from "../events/soak.ts";

/** What each end is, in the words of the choice. An end that is not here is never gone on after. */
const KIND_OF_END: ReadonlyMap<EndCause, GoOnAfter> = new Map([
  ["link lost", "link lost"],
  // The host was held up or slept: the controller heard nothing and went off in order.
  ["dead-man", "link lost"],
  // Proved to be a cut by the controller's own word before anything goes on.
  ["controller restarted", "mains cut"],
]);

/** @returns what the soak goes on after, null when it ends here */
export function mayGoOn(cause: EndCause, chosen: readonly GoOnAfter[]): GoOnAfter | null {
  const kind = KIND_OF_END.get(cause) ?? null;
  return kind !== null && chosen.includes(kind) ? kind : null;
}
