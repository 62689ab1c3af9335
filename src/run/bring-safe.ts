/**
 * The way to safe outputs. Plain code outside the machines, so that a broken machine cannot bar it;
 * it may be called from anywhere and again and again: every call of one run shares one descent.
 *
 * Plate off and its fall followed, then lines released, then bias and heater off with their falls.
 * The dead-man is fed meanwhile, so that bias outlasts plate. With the link gone the controller
 * goes the same way by itself, and nothing here can prove it.
 */
import { isBenchError } from "../bench/bench-error.ts";
import type { FallProof } from "../events/events.ts";
import type { RailName } from "../events/levels.ts";
import type { PlannedRail } from "../events/plan.ts";
import { voltsPerCode } from "../measure/divider.ts";
import { openLeadV } from "../measure/divider-facts.ts";
import { within } from "./deadline.ts";
import { type FallFinding, judgeEmptyFall, judgeFall } from "./fall-proof.ts";
import { releasedLevels } from "./line-book.ts";
import { understandScan, understandTrail } from "./look.ts";
import type { RailBook } from "./rail-book.ts";
import type { RunParts } from "./run-parts.ts";
import {
  fallAtOnceMs,
  fallPollMsMax,
  fallPollMsMin,
  heartbeatDeadlineMs,
  heartbeatMs,
  watchEveryMs,
} from "./timing.ts";
import { channelNamed } from "./trip-limits.ts";

/** What the way to safe outputs needs of a run. */
export type SafeParts = Pick<
  RunParts,
  | "plan"
  | "bench"
  | "clock"
  | "scribe"
  | "rails"
  | "lines"
  | "leads"
  | "rig"
  | "latch"
  | "passing"
  | "watched"
>;

export interface RailFall {
  readonly rail: RailName;
  readonly proof: FallProof;
  readonly volts: number | null;
  readonly tookMs: number | null;
}

export interface SafeOutcome {
  /** Every rail was proved off or never raised. */
  readonly allProved: boolean;
  readonly falls: readonly RailFall[];
}

/** Order in which rails go off. */
const offOrder: readonly RailName[] = ["plate", "bias", "heater"];

const descents = new WeakMap<RailBook, Promise<SafeOutcome>>();
/** Ways part of the way down: what they proved need not be proved again. */
const stepDowns = new WeakMap<RailBook, Promise<readonly RailFall[]>>();

/**
 * End with every output off, and say for each rail how that is known. Never rejects.
 *
 * @param reason one clause, for the refusal of anything that still wants to switch on
 */
export function bringSafe(parts: SafeParts, reason: string): Promise<SafeOutcome> {
  parts.latch.close(reason);
  const running = descents.get(parts.rails);
  if (running !== undefined) return running;
  const descent = descend(parts);
  descents.set(parts.rails, descent);
  return descent;
}

/**
 * Take some rails off in order, each fall followed, while the run goes on with the others. A later
 * `bringSafe` waits for it and goes on from there.
 */
export function stepDown(
  parts: SafeParts,
  rails: readonly RailName[],
): Promise<readonly RailFall[]> {
  const falls = new Descent(parts).run(rails);
  stepDowns.set(
    parts.rails,
    falls.catch(() => []),
  );
  return falls;
}

/** Whatever goes wrong inside, the controller is asked once more, and nothing counts as proved. */
async function descend(parts: SafeParts): Promise<SafeOutcome> {
  try {
    const before = (await stepDowns.get(parts.rails)) ?? [];
    const proved = before.filter(({ proof }) => proof === "verified");
    const missing = offOrder.filter((name) => proved.every(({ rail }) => rail !== name));
    const falls = [...proved, ...(await new Descent(parts).run(missing))];
    return { falls, allProved: falls.every(({ proof }) => isProvedOff(proof)) };
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    parts.scribe.write({ kind: "remark", text: `Powering down was broken off: ${reason}` });
    const asked = parts.bench.orderedOff();
    const deadline = { clock: parts.clock, limitMs: heartbeatDeadlineMs, what: "an ordered off" };
    await within(deadline, asked).catch((refusal: unknown) => {
      parts.scribe.write({
        kind: "remark",
        text: `The ordered off failed too: ${String(refusal)}`,
      });
    });
    const falls = parts.plan.rails.map(({ rail }): RailFall => {
      const proof = parts.rails.everOn(rail) ? "unproved" : "never raised";
      return { rail, proof, volts: null, tookMs: null };
    });
    for (const fall of falls) parts.scribe.write({ kind: "rail-fall", ...fall });
    return { falls, allProved: falls.every(({ proof }) => proof === "never raised") };
  }
}

function isProvedOff(proof: FallProof): boolean {
  return proof === "verified" || proof === "never raised";
}

class Descent {
  readonly #parts: SafeParts;
  readonly #told = new Set<string>();
  #linkGone = false;
  #hasTrail = true;
  #lastScan: number | null = null;
  #fedMs = Number.NEGATIVE_INFINITY;
  #stopAsked = false;

  constructor(parts: SafeParts) {
    this.#parts = parts;
  }

  /** Bring these rails down in the order they are given. */
  async run(names: readonly RailName[]): Promise<RailFall[]> {
    const { plan, scribe } = this.#parts;
    scribe.phase("powering down");
    const falls: RailFall[] = [];
    for (const name of names) {
      const rail = plan.rails.find((one) => one.rail === name);
      if (rail === undefined) continue;
      const fall = await this.#bringDown(rail);
      falls.push(fall);
      scribe.write({ kind: "rail-fall", ...fall });
      if (name === "plate") await this.#releaseLines();
    }
    return falls;
  }

  async #bringDown(rail: PlannedRail): Promise<RailFall> {
    const { rails, scribe } = this.#parts;
    if (rails.state(rail.rail) === "kept") {
      return { rail: rail.rail, proof: "kept on", volts: null, tookMs: null };
    }
    if (!rails.everOn(rail.rail)) {
      // Ordered off all the same: an order to switch on that was refused costs nothing to undo.
      await this.#switchOff(rail);
      return { rail: rail.rail, proof: "never raised", volts: null, tookMs: null };
    }
    const orderedMs = this.#parts.clock.nowMs();
    await this.#switchOff(rail);
    rails.orderOff(rail.rail, orderedMs);
    if (!this.#linkGone) scribe.write({ kind: "rail-switched", rail: rail.rail, on: false });
    return this.#follow(rail, orderedMs);
  }

  /** Watch the board side fall until it is proved, or until the rail has had its longest time. */
  async #follow(rail: PlannedRail, orderedMs: number): Promise<RailFall> {
    const { clock } = this.#parts;
    const untilMs = orderedMs + rail.fallMsMax;
    let finding: FallFinding = { kind: "falling", volts: null };
    let lead: FallFinding | null = null;
    while (true) {
      const lookedMs = clock.nowMs();
      await this.#look(rail);
      finding = this.#judge(rail, orderedMs);
      if (finding.kind === "verified") {
        const tookMs = Math.max(0, Math.round(finding.atMs - orderedMs));
        return { rail: rail.rail, proof: "verified", volts: finding.volts, tookMs };
      }
      // What was found first says most: a lead that came off reads anything afterwards.
      if (finding.kind === "lead lost") lead ??= finding;
      const nowMs = clock.nowMs();
      if (this.#linkGone || nowMs >= untilMs) break;
      const restMs = restBetweenLooksMs(nowMs - orderedMs, nowMs - lookedMs);
      if (restMs > 0) await clock.delay(restMs);
    }
    const last = lead ?? finding;
    return {
      rail: rail.rail,
      proof: lead === null || this.#linkGone ? "unproved" : "lead lost",
      volts: this.#linkGone || last.kind === "not seen in window" ? null : last.volts,
      tookMs: null,
    };
  }

  #judge(rail: PlannedRail, orderedMs: number): FallFinding {
    const { plan, rails } = this.#parts;
    const trail = rails.trail(rail.rail);
    const stepV = this.#stepV(rail);
    if (plan.connector !== "empty") return judgeFall(trail, rail, stepV);
    const { divider, referenceV } = channelNamed(rail.boardChannel, this.#parts.rig.plan);
    return judgeEmptyFall(trail, rail, {
      stepV,
      restV: openLeadV(divider, referenceV),
      orderedMs: rails.orderedOffMs(rail.rail) ?? orderedMs,
    });
  }

  async #switchOff(rail: PlannedRail): Promise<void> {
    const { bench } = this.#parts;
    const done = await this.#try(`switching ${rail.rail} off`, () =>
      bench.switchRail(rail.rail, false),
    );
    if (!done) await this.#askController();
  }

  /** Lines go to where their relays release; trips would take the coming fall of bias for a fault. */
  async #releaseLines(): Promise<void> {
    const { bench, clock, lines, plan, scribe } = this.#parts;
    const set = releasedLevels(plan);
    if (await this.#try("releasing the lines", () => bench.setLines(set))) {
      lines.note(set, clock.nowMs());
      scribe.write({ kind: "lines", set });
    }
    if (await this.#try("disarming the trips", () => bench.armTrips(false))) {
      scribe.write({ kind: "trips-armed", armed: false });
    }
  }

  /**
   * What the controller kept of the fall since the last look, so that over a slow link none of it is
   * missed; then a scan of every rail, for others may fall too. A trail that fails is not asked for
   * again: scans alone follow the fall.
   */
  async #look(rail: PlannedRail): Promise<void> {
    if (this.#hasTrail) {
      this.#hasTrail = await this.#try("the trail of a rail", async () => {
        understandTrail(await this.#parts.bench.railTrail(rail.boardChannel), rail, this.#parts);
      });
    }
    await this.#scan();
  }

  /**
   * One scan into the rail book, and a feed at the pace of the heartbeat. A failure counts as no
   * look, not as an end; the same scan again is stale and counts as no look either.
   */
  async #scan(): Promise<void> {
    const { bench, clock } = this.#parts;
    await this.#try("a rail scan", async () => {
      const { scan, codes } = await bench.scanRails();
      if (scan === this.#lastScan) return;
      this.#lastScan = scan;
      understandScan({ scan, codes }, this.#parts);
      this.#watch();
      if (clock.nowMs() - this.#fedMs < heartbeatMs) return;
      this.#fedMs = clock.nowMs();
      await bench.feed(scan);
    });
  }

  /** A slow fall takes seconds: the journal says about once a second what was seen of it. */
  #watch(): void {
    const { clock, passing, scribe, watched } = this.#parts;
    if (clock.nowMs() - watched.ms < watchEveryMs) return;
    watched.ms = clock.nowMs();
    scribe.write({ kind: "watch", readings: [...passing.values()] });
    passing.clear();
  }

  /** The controller's own order, for when the host's is not carried out. */
  async #askController(): Promise<void> {
    if (this.#stopAsked) return;
    this.#stopAsked = true;
    await this.#try("the controller's ordered off", () => this.#parts.bench.orderedOff());
  }

  async #try(what: string, work: () => Promise<void>): Promise<boolean> {
    if (this.#linkGone) return false;
    const { clock, scribe } = this.#parts;
    try {
      await within({ clock, limitMs: heartbeatDeadlineMs, what }, work());
      return true;
    } catch (error) {
      if (isLinkGone(error)) this.#linkGone = true;
      if (!isRoutineRefusal(error) && !this.#told.has(what)) {
        this.#told.add(what);
        const reason = error instanceof Error ? error.message : String(error);
        scribe.write({ kind: "remark", text: `While powering down, ${what} failed: ${reason}` });
      }
      return false;
    }
  }

  #stepV(rail: PlannedRail): number {
    const { divider, referenceV } = channelNamed(rail.boardChannel, this.#parts.plan);
    return voltsPerCode(divider, referenceV);
  }
}

/**
 * A fast rail falls within some ten ms, so at first the link alone sets the pace and a look follows
 * the last without rest; a rail that has not fallen by then is slow and can be looked at at leisure.
 */
function restBetweenLooksMs(sinceOrderMs: number, lookTookMs: number): number {
  if (sinceOrderMs < fallAtOnceMs && lookTookMs >= fallPollMsMin) return 0;
  return Math.min(fallPollMsMax, Math.max(fallPollMsMin, sinceOrderMs / 10));
}

function isLinkGone(error: unknown): boolean {
  return (
    isBenchError(error) &&
    ["link-lost", "closed", "port-vanished", "no-answer"].includes(error.code)
  );
}

/**
 * A scan fed a moment ago by supervision is refused (106), and a firmware that keeps no trail does
 * not know the query (-113); neither is news.
 */
function isRoutineRefusal(error: unknown): boolean {
  return (
    isBenchError(error) && error.code === "refused" && [106, -113].includes(error.facts.number)
  );
}
