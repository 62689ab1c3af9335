/** When the terminal's bell calls a person: something needs them, or is over. */
import type { RunSnapshot } from "../journal/snapshot.ts";

/** Before the end of a time that a person has, ms. */
const NEARLY_OVER_MS = 60_000;

export class Bell {
  muted: boolean;
  readonly #ring: () => void;
  #before: RunSnapshot;
  #wasSilent = false;

  constructor({
    first,
    muted,
    ring,
  }: {
    readonly first: RunSnapshot;
    readonly muted: boolean;
    readonly ring: () => void;
  }) {
    this.#before = first;
    this.muted = muted;
    this.#ring = ring;
  }

  /** Look at the newest picture; many events between two looks ring once. */
  look(now: RunSnapshot): void {
    if (!this.muted && callsForAPerson(this.#before, now)) this.#ring();
    this.#before = now;
  }

  /** A viewer hears nothing of its run any more, or does again. */
  silence(isSilent: boolean): void {
    if (!this.muted && isSilent && !this.#wasSilent) this.#ring();
    this.#wasSilent = isSilent;
  }
}

/** Whether what happened between two pictures of a run is worth a bell. */
export function callsForAPerson(before: RunSnapshot, now: RunSnapshot): boolean {
  if (now.verdict !== null && before.verdict === null) return true;
  if (now.firstMiss !== null && before.firstMiss === null) return true;
  if (now.freeze !== null && before.freeze === null) return true;
  if (now.standby !== null && before.standby === null) return true;
  if (now.hand !== null && before.hand === null) return true;
  return isNearlyOver(now) && !isNearlyOver(before);
}

function isNearlyOver({ ms, hand, freeze, standby }: RunSnapshot): boolean {
  const held = hand ?? freeze ?? standby;
  return held !== null && held.sinceMs + held.limitMs - ms <= NEARLY_OVER_MS;
}
