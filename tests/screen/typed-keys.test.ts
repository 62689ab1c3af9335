import type { Key as InkKey } from "ink";
import { describe, expect, it } from "vitest";
import { keysOf } from "../../src/screen/typed-keys.ts";

const plain: InkKey = {
  upArrow: false,
  downArrow: false,
  leftArrow: false,
  rightArrow: false,
  pageDown: false,
  pageUp: false,
  home: false,
  end: false,
  return: false,
  escape: false,
  ctrl: false,
  shift: false,
  tab: false,
  backspace: false,
  delete: false,
  meta: false,
  super: false,
  hyper: false,
  capsLock: false,
  numLock: false,
};
const letters = (input: string) => keysOf(input, plain).map((key) => key.input);

describe("keysOf(input, key)", () => {
  it("takes each of several presses that a slow line delivers as one text", () => {
    expect(letters("um?s")).toEqual(["u", "m", "?", "s"]);
  });

  it("hears a stop with the shift lock on, and Ctrl-C in the middle of a text", () => {
    expect(letters("S")).toEqual(["s"]);
    expect(keysOf("x\u0003\u0003", plain)).toEqual([
      { input: "x", ctrl: false, name: null },
      { input: "c", ctrl: true, name: null },
    ]);
  });

  it("counts a stuck key once", () => {
    expect(letters("1".repeat(300))).toEqual(["1"]);
  });

  it.each([
    ["upArrow", "up"],
    ["downArrow", "down"],
    ["leftArrow", "left"],
    ["rightArrow", "right"],
    ["pageUp", "page up"],
    ["pageDown", "page down"],
    ["home", "home"],
    ["end", "end"],
    ["return", "enter"],
  ] as const)("knows %s", (name, wanted) => {
    expect(keysOf("", { ...plain, [name]: true })).toMatchObject([{ name: wanted }]);
  });
});
