/** What the moves of contacts say of their relays: bounce, and how late they settle. */
import type { Plan } from "../events/plan.ts";
import type { ContactLook, RigFinding } from "../events/rig-check.ts";
import { finding } from "./rig-fault-words.ts";

/** A sound small relay bounces 1 to 2 ms (common practice); a sample more on either side is not seen. */
const BOUNCE_MS_MAX = 4;

export function contactFindings(contacts: readonly ContactLook[], plan: Plan): RigFinding[] {
  const worst = new Map<string, ContactLook>();
  for (const look of contacts) {
    const { contact, bounceMs } = look;
    if (bounceMs === null || bounceMs <= BOUNCE_MS_MAX) continue;
    if (bounceMs > (worst.get(contact)?.bounceMs ?? 0)) worst.set(contact, look);
  }
  return [...worst.values()].map(({ contact, move, bounceMs, answeredMs }) => {
    const line = plan.lines.find(({ line: name }) => name === contact);
    const settledMs = (answeredMs ?? 0) + (bounceMs ?? 0);
    const allowed = line?.driverMs === undefined ? "" : `, the rig file allows ${line.driverMs} ms`;
    const seen = `it bounces for ${bounceMs} ms when it ${move}s and stands ${Math.round(settledMs)} ms after the order${allowed}`;
    return finding({ kind: "bounce", where: `relay ${contact}`, other: null }, seen);
  });
}

/** The node's level is taken to have moved, and to have arrived, at these parts of the way. */
const LEFT = 0.15;
const ARRIVED = 0.85;
/** A move of fewer codes than this says nothing of its contact. */
const MOVE_CODES_MIN = 25;
/** Samples at the end that show where the channel stands. */
const END = 10;

export interface ContactSamples {
  /** Where the channel stood before the order, code. */
  readonly from: number;
  /** Samples after it, at one interval. */
  readonly codes: readonly number[];
  /** That interval, ms. */
  readonly sampledMs: number;
  /** Time constant at the channel's pin. */
  readonly filterUs: number;
}

/**
 * When a contact answered and how long it bounced. The pin's filter is taken off first: what the node
 * did within each interval is (code - k * code before) / (1 - k), with k = exp(-interval / time constant).
 *
 * @returns `answeredAt` in samples; null when the channel did not move, or the samples are too few
 */
export function contactMove({
  from,
  codes,
  sampledMs,
  filterUs,
}: ContactSamples): { readonly answeredAt: number; readonly bounceMs: number } | null {
  if (codes.length < 2 * END) return null;
  const to = mean(codes.slice(-END));
  if (Math.abs(to - from) < MOVE_CODES_MIN) return null;
  const keep = Math.exp((-1000 * sampledMs) / filterUs);
  let first = -1;
  let last = -1;
  for (let at = 0; at < codes.length; at += 1) {
    const before = codes[at - 1] ?? from;
    const node = ((codes[at] ?? 0) - keep * before) / (1 - keep);
    const way = (node - from) / (to - from);
    if (first < 0 && way > LEFT) first = at;
    if (way < ARRIVED) last = at;
  }
  if (first < 0) return null;
  // From the first interval in which it answers to the last in which it was not there yet.
  const intervals = last < first ? 0 : last - first + 1;
  return { answeredAt: first, bounceMs: intervals * sampledMs };
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, one) => sum + one, 0) / values.length;
}
