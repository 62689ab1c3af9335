import { describe, expect, it } from "vitest";
import { limitText, voltsText, windowText } from "../../src/measure/volts-text.ts";

describe("volts as text", () => {
  it("have two decimals and no sign on nothing", () => {
    expect(voltsText(46.196)).toBe("46.20 V");
    expect(voltsText(-0.001)).toBe("0.00 V");
    expect(voltsText(-24.004)).toBe("-24.00 V");
  });

  it("of a limit stand as in the file", () => {
    expect(limitText(14)).toBe("14");
    expect(windowText({ lowV: -26.4, highV: -21.6 })).toBe("-26.4 to -21.6 V");
  });
});
