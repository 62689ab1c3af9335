import { describe, expect, it } from "vitest";
import { pointerAt } from "../../../src/record/seal/json-place.ts";

const json = '{"a":{"b/c":[1,{"d~":"x\\"y"}]},"e":[[],["f"]],"g":null}';

/** The pointer at the first byte of a piece of the text. */
function at(piece: string, shift = 0): string {
  expect(json).toContain(piece);
  return pointerAt(Buffer.from(json), json.indexOf(piece) + shift);
}

describe("pointerAt(json, offset)", () => {
  it.each([
    ["1,", "/a/b~1c/0"],
    ['"x', "/a/b~1c/1/d~0"],
    ['y"', "/a/b~1c/1/d~0"],
    ["[]", "/e/0"],
    ['"f', "/e/1/0"],
    ["null", "/g"],
  ])("names the value that begins with %s", (piece, pointer) => {
    expect(at(piece)).toBe(pointer);
  });

  it("names what holds a member when its name is meant", () => {
    expect(at('"d~', 1)).toBe("/a/b~1c/1");
    expect(at('"e"', 1)).toBe("");
  });

  it("is the whole at both ends, and asks nothing of what comes after the place", () => {
    expect(pointerAt(Buffer.from(json), 0)).toBe("");
    expect(pointerAt(Buffer.from(json), json.length)).toBe("");
    expect(pointerAt(Buffer.from('{"a":[1,2,]}}}x'), 9)).toBe("/a/1");
  });

  it("counts bytes, not letters", () => {
    const text = '{"ö":"€","z":1}';
    expect(pointerAt(Buffer.from(text), Buffer.from(text).indexOf("1"))).toBe("/z");
    expect(pointerAt(Buffer.from(text), Buffer.from(text).indexOf("€"))).toBe("/ö");
  });
});
