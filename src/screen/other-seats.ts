/** Keys at a terminal that is not the run's own: attached to it, or looking on. */
import type { RunSnapshot } from "../journal/snapshot.ts";
import { LEAVE } from "./seat.ts";
import { type Key, type Pressed, pressKey, type ViewState } from "./view-state.ts";

const NOT_REACHED =
  "Looking on: no key here reaches the run. It is stopped where it was started; q leaves.";

/** The only effect that comes back is leaving; a key that would touch the run is refused in words. */
export function pressLookingOn(view: ViewState, key: Key, snapshot: RunSnapshot): Pressed {
  const { input, ctrl } = key;
  if (input === "q" || (ctrl && input === "c")) return leaving(view);
  const pressed = pressKey(view, key, snapshot);
  if (pressed.effect !== null) return { view: { ...view, notice: NOT_REACHED }, effect: null };
  // In hand mode and frozen the arrows choose for the one who has the run in hand; here they scroll.
  const untouched = { ...snapshot, hand: null, freeze: null, standby: null };
  return pressKey(view, key, untouched);
}

/** Every key of the run's own screen, and one more: to leave it alone. */
export function pressAttached(view: ViewState, key: Key, snapshot: RunSnapshot): Pressed {
  return key.input === "x" && !key.ctrl ? leaving(view) : pressKey(view, key, snapshot);
}

function leaving(view: ViewState): Pressed {
  return { view, effect: { kind: "stop", key: LEAVE } };
}
