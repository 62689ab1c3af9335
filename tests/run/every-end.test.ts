/**
 * From every state of every machine, met in a real run on the scripted bench, each way a run can be
 * broken off ends with the outputs off, plate before bias, and never with a pass.
 */
import { describe, expect, it } from "vitest";
import { breakings } from "./break-off.ts";
import type { Rehearsal } from "./rehearse.ts";
import { rehearse, untilEnd } from "./rehearse.ts";

/** `power:switching#2`: the second time this state of this machine was entered. */
type Moment = string;

/** Entries that are told apart: raising has one for each rail, a hold one for each of its parts. */
function entriesMax(place: string): number {
  if (place.startsWith("power:")) return 3;
  return place.startsWith("hold:") ? 2 : 1;
}

/** Run once, telling of each new moment while it is entered. */
function rehearseWithMoments(
  onMoment: (moment: Moment, rehearsal: () => Rehearsal) => void,
): Rehearsal {
  const entries = new Map<string, number>();
  const places = new Map<string, string>();
  let rehearsal: Rehearsal | null = null;
  const present = (): Rehearsal => {
    if (rehearsal === null) throw new Error("The run has not begun yet.");
    return rehearsal;
  };
  rehearsal = rehearse({
    options: {
      inspect: (inspection) => {
        if (inspection.type !== "@xstate.snapshot") return;
        const snapshot: unknown = inspection.snapshot;
        if (typeof snapshot !== "object" || snapshot === null || !("machine" in snapshot)) return;
        const { machine, value } = snapshot as unknown as {
          machine: { id: string };
          value: unknown;
        };
        const place = `${machine.id}:${typeof value === "string" ? value : JSON.stringify(value)}`;
        const session = inspection.actorRef.sessionId;
        if (places.get(session) === place) return;
        places.set(session, place);
        const entry = (entries.get(place) ?? 0) + 1;
        entries.set(place, entry);
        if (entry <= entriesMax(place)) onMoment(`${place}#${entry}`, present);
      },
    },
  });
  return rehearsal;
}

async function allMoments(): Promise<Moment[]> {
  const moments: Moment[] = [];
  await untilEnd(rehearseWithMoments((moment) => moments.push(moment)));
  return moments;
}

const moments = await allMoments();

/** Moments in which the proving goes on, so that something is left to break off. */
const proving = moments.filter(
  (moment) => !/poweringDown|ended|closed|closing|completed/.test(moment),
);

/** A rail on its way up has not been read in its window, so its fall cannot be proved. */
const unprovable = /^power:(switching|watchingRise)/;

describe("a run on the scripted bench", () => {
  it("enters every state of every machine on its healthy way", () => {
    const visited = new Set(moments.map((moment) => moment.replace(/#\d$/, "")));
    for (const state of [
      "run:poweringDown",
      "power:waitingForHeaters",
      "power:armingTrips",
      "power:powered",
      "warmUp:provingLineLeads",
      "warmUp:warm",
      "pass:reading",
      "pass:completed",
      "hold:readingInactive",
      "hold:moving",
      "hold:closed",
      "supervision:beating",
    ]) {
      expect(visited).toContain(state);
    }
    expect(proving.length).toBeGreaterThanOrEqual(50);
  });
});

describe.each(breakings)("broken off by $name", ({ cause, act, provable }) => {
  it.each(proving)("in %s it ends safe", async (target) => {
    let brokenMs: number | null = null;
    let requestsBefore = 0;
    const rehearsal = rehearseWithMoments((moment, present) => {
      if (moment !== target || brokenMs !== null) return;
      brokenMs = 0;
      // The first states are entered before the run has a handle.
      queueMicrotask(() => {
        const { clock, bench } = present();
        brokenMs = clock.nowMs();
        requestsBefore = bench.requests.length;
        act(present());
      });
    });
    const { bench, clock, journal } = rehearsal;
    const end = await untilEnd(rehearsal);
    // Time for the controller to go down by itself where the host could not lead it.
    await clock.advance(1500);
    expect(brokenMs).not.toBeNull();
    expect(end.cause).toBe(cause);
    expect(end.verdict).not.toBe("pass");
    expect(bench.violations).toEqual([]);
    for (const { rail } of rehearsal.plan.rails) expect(bench.isOn(rail)).toBe(false);
    const after = bench.requests.slice(requestsBefore);
    // A full disk is noticed with the next line that is written, and no rail rises without one.
    const risky = cause === "journal fault" ? /^switchRail .* on$/ : / on$|=high/;
    expect(after.filter((request) => risky.test(request))).toEqual([]);
    if (provable) {
      const order = after.filter(
        (request) => / off$/.test(request) && request.startsWith("switchRail"),
      );
      expect(order).toEqual([
        "switchRail plate off",
        "switchRail bias off",
        "switchRail heater off",
      ]);
      const open = end.falls.filter(({ proof }) => !["verified", "never raised"].includes(proof));
      expect(open.length).toBeLessThanOrEqual(unprovable.test(target) ? 1 : 0);
      expect(end.allProvedOff).toBe(open.length === 0);
    }
    if (cause !== "journal fault") expect(journal.events.at(-1)?.kind).toBe("run-closed");
  });
});
