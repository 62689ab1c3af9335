/**
 * What a person has chosen on the screen, and what a key does to it. Pure: the run is touched only by
 * the effect that comes back, and everything else about a run is in its snapshot.
 */
import type { RunWish } from "../events/run-wish.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";

export interface ViewState {
  readonly helpShown: boolean;
  readonly muted: boolean;
  /** The log over the whole width, in place of rails, levels and steps. */
  readonly logWhole: boolean;
  /** Rows by which log and steps stand above their newest place; 0 follows the run. Steps may stand
   * below it too. */
  readonly logBack: number;
  readonly stepsBack: number;
  /** A wrong cycle of a soak with its surroundings, in the same place, and which; null is the first. */
  readonly wrongShown: boolean;
  readonly wrongChosen: number | null;
  readonly scrolls: "log" | "steps";
  /** Position of the line chosen in hand mode. */
  readonly line: number;
  /** Step chosen as the other one of a loop while frozen; null is the one before. */
  readonly loopWith: number | null;
  /** What is said in a row of its own until the next key. */
  readonly notice: string | null;
}

export const INITIAL_VIEW: ViewState = {
  helpShown: false,
  muted: false,
  logWhole: false,
  logBack: 0,
  stepsBack: 0,
  wrongShown: false,
  wrongChosen: null,
  scrolls: "log",
  line: 0,
  loopWith: null,
  notice: null,
};

/** A key as a terminal sends it; `name` where it is none of the printable ones. */
export interface Key {
  readonly input: string;
  readonly ctrl: boolean;
  readonly name:
    | "up"
    | "down"
    | "left"
    | "right"
    | "page up"
    | "page down"
    | "home"
    | "end"
    | "enter"
    | null;
}

type Effect =
  | { readonly kind: "stop"; readonly key: string }
  | { readonly kind: "wish"; readonly wish: RunWish };

export interface Pressed {
  readonly view: ViewState;
  readonly effect: Effect | null;
}

const PAGE_ROWS = 8;
const SCROLL_MOST = 1_000_000;

/** What a key does in this state of view and run; a key without a meaning only clears the notice. */
export function pressKey(before: ViewState, key: Key, snapshot: RunSnapshot): Pressed {
  const view: ViewState = { ...before, notice: null };
  const { input, ctrl, name } = key;
  if (ctrl && input === "c") return { view, effect: { kind: "stop", key: "Ctrl-C" } };
  if (input === "s" || input === "q")
    return { view, effect: { kind: "stop", key: `key ${input}` } };
  if (input === "?") return changed(view, { helpShown: !view.helpShown });
  if (input === "w")
    return changed(view, { logWhole: !view.logWhole, wrongShown: false, scrolls: "log" });
  if (input === "m") return changed(view, { muted: !view.muted });
  if (input === "t") return changed(view, { scrolls: view.scrolls === "log" ? "steps" : "log" });
  if (input === "v") return looked(view, snapshot);
  if (view.wrongShown && (name === "left" || name === "right")) {
    return otherWrong(view, name === "left" ? -1 : 1, snapshot);
  }
  if (name === "page up" || input === "u") return scrolled(view, PAGE_ROWS, snapshot);
  if (name === "page down" || input === "d") return scrolled(view, -PAGE_ROWS, snapshot);
  if (name === "home" || input === "b") return scrolled(view, SCROLL_MOST, snapshot);
  if (name === "end" || input === "e") return changed(view, { logBack: 0, stepsBack: 0 });
  if (snapshot.hand !== null) return pressInHand(view, key, snapshot);
  if (snapshot.freeze !== null) return pressFrozen(view, key, snapshot);
  if (snapshot.standby !== null) return pressInStandby(view, key);
  if (name === "up") return scrolled(view, 1, snapshot);
  if (name === "down") return scrolled(view, -1, snapshot);
  return { view, effect: null };
}

/** The same lines stay before the eyes of who has scrolled back, however many come after them. */
export function anchored(view: ViewState, before: RunSnapshot, now: RunSnapshot): ViewState {
  const last = before.log.at(-1);
  if (view.logBack === 0 || last === undefined) return view;
  const place = now.log.lastIndexOf(last);
  if (place === -1 || place === now.log.length - 1) return view;
  return {
    ...view,
    logBack: Math.min(view.logBack + now.log.length - 1 - place, now.log.length - 1),
  };
}

/** Whether nothing of what is chosen has changed, so that a stuck key draws nothing. */
export function isSameView(one: ViewState, other: ViewState): boolean {
  return (
    one.helpShown === other.helpShown &&
    one.muted === other.muted &&
    one.logWhole === other.logWhole &&
    one.logBack === other.logBack &&
    one.stepsBack === other.stepsBack &&
    one.wrongShown === other.wrongShown &&
    one.wrongChosen === other.wrongChosen &&
    one.scrolls === other.scrolls &&
    one.line === other.line &&
    one.loopWith === other.loopWith &&
    one.notice === other.notice
  );
}

function changed(view: ViewState, change: Partial<ViewState>): Pressed {
  return { view: { ...view, ...change }, effect: null };
}

function wished(view: ViewState, wish: RunWish): Pressed {
  return { view, effect: { kind: "wish", wish } };
}

function scrolled(view: ViewState, by: number, { log, steps }: RunSnapshot): Pressed {
  const bounded = (value: number, most: number, least = 0) =>
    Math.max(least, Math.min(value, Math.max(0, most)));
  const stepsMost = steps.length - 1;
  return view.scrolls === "log"
    ? changed(view, { logBack: bounded(view.logBack + by, log.length - 1) })
    : // Steps to come can be looked at as well.
      changed(view, { stepsBack: bounded(view.stepsBack + by, stepsMost, -stepsMost) });
}

function looked(view: ViewState, { soak }: RunSnapshot): Pressed {
  if (soak === undefined) return { view, effect: null };
  if (soak.errors.length === 0) {
    return changed(view, { wrongShown: false, notice: "No cycle went wrong so far." });
  }
  return changed(view, { wrongShown: !view.wrongShown, logWhole: false });
}

/** Of those that are kept for looking at; stays at either end. */
function otherWrong(view: ViewState, by: number, { soak }: RunSnapshot): Pressed {
  const errors = soak?.errors ?? [];
  const at = errors.findIndex(({ event }) => event.error === view.wrongChosen);
  const next = errors[Math.max(0, Math.min(Math.max(0, at) + by, errors.length - 1))];
  return changed(view, { wrongChosen: next?.event.error ?? null });
}

/** Digits move a line at once; arrows choose one for the space bar and Enter. */
function pressInHand(view: ViewState, { input, name }: Key, snapshot: RunSnapshot): Pressed {
  const lines = snapshot.plan?.lines.map(({ line }) => line) ?? [];
  if (input === "l") return wished(view, { kind: "let go" });
  if (name === "up") return changed(view, { line: Math.max(0, view.line - 1) });
  if (name === "down") return changed(view, { line: Math.min(lines.length - 1, view.line + 1) });
  if (/^[1-9]$/.test(input)) {
    const position = Number(input) - 1;
    const line = lines[position];
    if (line === undefined) return changed(view, { notice: `There is no line ${input}.` });
    return wished({ ...view, line: position }, toggle(line, snapshot));
  }
  const chosen = lines[view.line];
  if (chosen === undefined) return { view, effect: null };
  if (input === " ") return wished(view, toggle(chosen, snapshot));
  if (input === "p" || name === "enter") return wished(view, { kind: "pulse", line: chosen });
  return { view, effect: null };
}

function toggle(line: string, snapshot: RunSnapshot): RunWish {
  return { kind: "drive", line, level: lineLevel(line, snapshot) === "high" ? "low" : "high" };
}

/** Level a line was last driven to; a line not driven yet stands where its relay releases. */
export function lineLevel(line: string, { lines, plan }: RunSnapshot): "low" | "high" {
  const released = plan?.lines.find((one) => one.line === line)?.releasedLevel;
  return lines[line] ?? released ?? "low";
}

function pressFrozen(view: ViewState, { input, name }: Key, snapshot: RunSnapshot): Pressed {
  const { freeze, steps } = snapshot;
  if (freeze === null) return { view, effect: null };
  if (input === "r") return wished(view, { kind: "repeat" });
  if (input === "l") return wished(view, { kind: "let go" });
  const other = loopPartner(view, snapshot);
  if (input === "o")
    return wished(view, { kind: "loop", with: freeze.loopTo === null ? other : null });
  if (name === "left" || name === "right") {
    const next = nextStep(
      other ?? freeze.step,
      name === "left" ? -1 : 1,
      freeze.step,
      steps.length,
    );
    const chosen = changed(view, { loopWith: next });
    return freeze.loopTo === null || next === null
      ? chosen
      : wished(chosen.view, { kind: "loop", with: next });
  }
  if (name === "up") return scrolled(view, 1, snapshot);
  if (name === "down") return scrolled(view, -1, snapshot);
  return { view, effect: null };
}

/** The other step of a loop: the one chosen, else the one before the frozen one, else the one after. */
export function loopPartner(
  { loopWith }: ViewState,
  { freeze, steps }: RunSnapshot,
): number | null {
  if (freeze === null || steps.length < 2) return null;
  if (loopWith !== null && loopWith !== freeze.step && loopWith < steps.length) return loopWith;
  return freeze.step > 0 ? freeze.step - 1 : freeze.step + 1;
}

function nextStep(from: number, by: number, frozen: number, count: number): number | null {
  for (let next = from + by; next >= 0 && next < count; next += by) {
    if (next !== frozen) return next;
  }
  return from === frozen ? null : from;
}

function pressInStandby(view: ViewState, { input }: Key): Pressed {
  if (input === "n") return wished(view, { kind: "next run" });
  if (input === "l") return wished(view, { kind: "let go" });
  return { view, effect: null };
}
