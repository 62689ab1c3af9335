/**
 * Keys as they are meant, from what a terminal sends. Over a slow line several presses arrive as one
 * text, and with the shift lock on a letter is a capital: neither may lose a stop.
 */
import type { Key as InkKey } from "ink";
import type { Key } from "./view-state.ts";

const CTRL_C = "\u0003";
const RETURN = /[\r\n]/;

/** A key that is stuck counts once in each text that arrives. */
export function keysOf(input: string, key: InkKey): Key[] {
  const name = nameOf(key);
  if (name !== null || key.ctrl) return [{ input: input.toLowerCase(), ctrl: key.ctrl, name }];
  const presses = [...input.toLowerCase()];
  return presses.filter((one, index) => one !== presses[index - 1]).map(keyOf);
}

function keyOf(typed: string): Key {
  if (typed === CTRL_C) return { input: "c", ctrl: true, name: null };
  return { input: typed, ctrl: false, name: RETURN.test(typed) ? "enter" : null };
}

function nameOf(key: InkKey): Key["name"] {
  if (key.upArrow) return "up";
  if (key.downArrow) return "down";
  if (key.leftArrow) return "left";
  if (key.rightArrow) return "right";
  if (key.pageUp) return "page up";
  if (key.pageDown) return "page down";
  if (key.home) return "home";
  if (key.end) return "end";
  return key.return ? "enter" : null;
}
