/** Hand mode, freeze and standby: the states in which a person has the board in hand, folded. */
import type { RunEvent } from "../events/events.ts";
import type { FoldedRun } from "./account.ts";
import { withReadings } from "./fold-channels.ts";

/** Events that only a person in hand mode, freeze or standby brings about. */
export type ByPersonEvent = Extract<
  RunEvent,
  {
    kind:
      | "hand-begun"
      | "frozen"
      | "freeze-loop"
      | "freeze-turn"
      | "thawed"
      | "standby-begun"
      | "standby-ended";
  }
>;

export function foldByPerson(run: FoldedRun, event: ByPersonEvent): FoldedRun {
  const sinceMs = run.ms;
  switch (event.kind) {
    case "hand-begun":
      return { ...run, hand: { sinceMs, limitMs: event.limitMs } };
    case "frozen": {
      const { step, limitMs, trigger } = event;
      const noTurn = { turns: 0, newest: null, newestByStep: {}, loopTo: null };
      return { ...run, freeze: { step, sinceMs, limitMs, trigger, ...noTurn } };
    }
    case "freeze-loop":
      return run.freeze === null ? run : { ...run, freeze: { ...run.freeze, loopTo: event.to } };
    case "freeze-turn":
      return foldTurn(run, event);
    case "thawed":
      return { ...run, freeze: null };
    case "standby-begun":
      return { ...run, standby: { sinceMs, limitMs: event.limitMs, verdict: event.verdict } };
    case "standby-ended":
      return { ...run, standby: null };
  }
}

function foldTurn(
  run: FoldedRun,
  event: Extract<ByPersonEvent, { kind: "freeze-turn" }>,
): FoldedRun {
  const read = withReadings(run, event.readings);
  if (run.freeze === null) return read;
  const { result, step, turn } = event;
  const newestByStep = { ...run.freeze.newestByStep, [step]: result };
  return { ...read, freeze: { ...run.freeze, turns: turn, newest: result, newestByStep } };
}
