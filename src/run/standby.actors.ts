/**
 * The work behind standby: plate and bias off and proved, heaters kept warm for the next run, and
 * not for long. Everything else about the rails is supervised as before.
 */
import type { Verdict } from "../events/levels.ts";
import type { RunWish, WishAnswer } from "../events/run-wish.ts";
import { stepDown } from "./bring-safe.ts";
import type { RunConduct } from "./conduct.ts";
import type { Ending } from "./ending.ts";
import { releasedLevel } from "./line-book.ts";
import type { RunParts } from "./run-parts.ts";
import { heartbeatMs, stateDeadlineMs } from "./timing.ts";
import { GOES_ON, OVER, type Turn } from "./turn.ts";
import { worker } from "./worker.ts";

export interface StandbyInput {
  readonly ending: Ending;
}

export function standbyActors(
  parts: RunParts,
  conduct: RunConduct,
  verdictWith: (cause: Ending["cause"]) => Verdict,
) {
  const standby = new Standby(parts, conduct, verdictWith);
  const fallsMs = parts.plan.rails.reduce((sum, { fallMsMax }) => sum + fallMsMax, 0);
  return {
    /** Whether plate and bias were proved off and the lines released, so that heaters may stay on. */
    stepDown: worker<undefined, boolean>(parts, {
      name: "going down to standby",
      limitMs: fallsMs + stateDeadlineMs,
      run: async () => {
        const falls = await stepDown(parts, ["plate", "bias"]);
        const { lines, plan } = parts;
        const isReleased = plan.lines.every(
          (one) => lines.levelOf(one.line) === releasedLevel(one),
        );
        return isReleased && falls.every(({ proof }) => proof === "verified");
      },
    }),
    standbyTurn: worker<StandbyInput, Turn>(parts, {
      name: "standby",
      run: ({ ending: { cause } }, signal) => standby.turn(cause, signal),
    }),
  };
}

class Standby {
  readonly #parts: RunParts;
  readonly #limitMs: number;
  readonly #verdictWith: (cause: Ending["cause"]) => Verdict;
  #begunMs: number | null = null;

  constructor(
    parts: RunParts,
    conduct: RunConduct,
    verdictWith: (cause: Ending["cause"]) => Verdict,
  ) {
    this.#parts = parts;
    this.#limitMs = conduct.standbyMs ?? 0;
    this.#verdictWith = verdictWith;
  }

  async turn(cause: Ending["cause"], signal: AbortSignal): Promise<Turn> {
    const { clock, desk } = this.#parts;
    const begunMs = this.#begin(cause);
    const leftMs = begunMs + this.#limitMs - clock.nowMs();
    if (leftMs <= 0) return this.#over("time over");
    const wish = await desk.next(clock, Math.min(heartbeatMs, leftMs), signal);
    if (wish?.kind === "let go") return this.#over("let go");
    if (wish?.kind !== "next run") return GOES_ON;
    this.#parts.rails.keepOn("heater");
    return this.#over("next run");
  }

  #begin(cause: Ending["cause"]): number {
    const { clock, desk, scribe } = this.#parts;
    if (this.#begunMs === null) {
      this.#begunMs = clock.nowMs();
      scribe.phase("standby");
      const verdict = this.#verdictWith(cause);
      scribe.write({ kind: "standby-begun", limitMs: this.#limitMs, verdict });
      desk.open(acceptInStandby);
    }
    return this.#begunMs;
  }

  #over(why: "next run" | "let go" | "time over"): Turn {
    this.#parts.desk.close();
    this.#parts.scribe.write({ kind: "standby-ended", why });
    return OVER;
  }
}

function acceptInStandby(wish: RunWish): WishAnswer {
  return wish.kind === "next run" || wish.kind === "let go"
    ? null
    : "Standby: plate and bias are off; only the next run and letting go work here.";
}
