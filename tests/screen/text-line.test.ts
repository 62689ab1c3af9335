import stringWidth from "string-width";
import { describe, expect, it } from "vitest";
import { widthOf } from "../../src/screen/text-line.ts";

describe("widthOf(text)", () => {
  it("is what the library says, for every sign of the basic plane between two letters", () => {
    const wrong: string[] = [];
    for (let code = 0x20; code <= 0xffff; code += 1) {
      if (code >= 0xd800 && code <= 0xdfff) continue;
      const text = `a${String.fromCodePoint(code)}b`;
      if (widthOf(text) !== stringWidth(text)) wrong.push(code.toString(16));
    }
    expect(wrong).toEqual([]);
  });

  it("is what the library says of signs that join", () => {
    for (const text of ["灯台船", "▶\ufe0f", "e\u0301", "👩‍🔧 ok", "✓━━◆", "\u25fd\u25fe"]) {
      expect(widthOf(text)).toBe(stringWidth(text));
    }
  });
});
